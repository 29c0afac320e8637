//! The print as a stream: any split of the blocks, any rate, any input, settings that change under a tone.

use std::f64::consts::TAU;

use plumbline_dsp::print::machine::Machine;
use plumbline_dsp::print::oversampler::stages_for;
use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup, latency};

use plumbline_dsp::meters::click::largest_step;

use crate::noise::Noise;
use crate::support::{assert_below, assert_near, sine};

const RATES: [f64; 13] = [
    8_000.0, 11_025.0, 22_050.0, 44_100.0, 48_000.0, 64_000.0, 88_200.0, 96_000.0, 176_400.0,
    192_000.0, 352_800.0, 384_000.0, 768_000.0,
];

fn new(sample_rate: f64, channels: usize) -> Print {
    Print::new(PrintSetup {
        sample_rate,
        channels,
    })
}

/// Prints `audio` in blocks of the lengths that `blocks` gives, from the song's start.
fn printed(
    audio: &[f32],
    rate: f64,
    settings: impl Fn(usize) -> PrintSettings,
    mut blocks: impl FnMut() -> usize,
) -> Vec<f32> {
    let mut print = new(rate, 1);
    let mut out = audio.to_vec();
    let mut start = 0;
    while start < out.len() {
        let end = (start + blocks()).min(out.len());
        print.process(
            &mut [&mut out[start..end]],
            start as f64 / rate,
            &settings(start),
        );
        start = end;
    }
    out
}

/// Strokes of noise with silences between them.
fn strokes(count: usize, seed: u64) -> Vec<f32> {
    let mut noise = Noise::new(seed);
    let decay = |n: usize| (-((n % 9000) as f64) / 600.0).exp();
    (0..count)
        .map(|n| (decay(n) * noise.signed()) as f32)
        .collect()
}

#[test]
fn the_split_of_the_blocks_does_not_matter() {
    let audio = strokes(40_000, 3);
    let noisy = PrintSettings {
        level_db: 9.0,
        hiss_db: Some(-50.0),
        ..PrintSettings::default()
    };
    for settings in [PrintSettings::default(), noisy] {
        // The machine and the level change at sample 16 000, where every split has an edge.
        let course = |start: usize| match start {
            ..16_000 => settings,
            _ => PrintSettings {
                speed: TapeSpeed::Cm19,
                level_db: -3.0,
                ..settings
            },
        };
        let whole = printed(&audio, 44_100.0, course, || 16_000);
        for size in [1, 8, 50, 64, 320, 1000] {
            let got = printed(&audio, 44_100.0, course, || size);
            let differs = got
                .iter()
                .zip(&whole)
                .position(|(a, b)| a.to_bits() != b.to_bits());
            assert_eq!(differs, None, "blocks of {size}");
        }
    }
}

#[test]
fn it_is_as_late_as_it_says_at_any_rate() {
    for rate in RATES {
        let setup = PrintSetup {
            sample_rate: rate,
            channels: 1,
        };
        let plain = |speed, equalisation| Machine {
            contour: None,
            ..Machine::lined_up(speed, equalisation)
        };
        let mut print = Print::with_machines(setup, stages_for(rate), plain);
        assert_eq!(print.latency(), latency(rate), "{rate}");
        let (hz, second) = (1000.0, rate as usize);
        let mut audio = sine(hz, rate, 2 * second);
        audio.iter_mut().for_each(|x| *x *= 0.01);
        print.process(&mut [&mut audio], 0.0, &PrintSettings::default());
        let (mut real, mut imaginary) = (0.0, 0.0);
        for (n, x) in audio.iter().enumerate().skip(second) {
            let angle = TAU * (hz * (n as f64 - latency(rate) as f64) / rate).fract();
            real += f64::from(*x) * angle.cos();
            imaginary += f64::from(*x) * angle.sin();
        }
        let gain = 2.0 * real.hypot(imaginary) / second as f64 / 0.01;
        // The coupling at 5 Hz leads by 0.005 radian at 1 kHz.
        let late = -real.atan2(imaginary) + 0.005;
        println!(
            "{rate} Hz: {} samples, {:.2} ms",
            latency(rate),
            latency(rate) as f64 / rate * 1e3
        );
        assert_below(&format!("{rate} Hz, phase"), late.abs(), 1e-3);
        assert_near(&format!("{rate} Hz, gain"), 20.0 * gain.log10(), 0.0, 0.02);
    }
}

#[test]
fn any_input_gives_finite_sound_and_silence_after_it() {
    let rate = 48_000.0;
    let mut noise = Noise::new(9);
    let faults: [(&str, &mut dyn FnMut(usize) -> f32); 9] = [
        ("a step", &mut |_| 1.0),
        ("full scale at half the rate", &mut |n| {
            if n % 2 == 0 { 1.0 } else { -1.0 }
        }),
        ("full scale noise", &mut |_| noise.signed() as f32),
        ("NaN", &mut |n| if n % 5 == 0 { f32::NAN } else { 0.5 }),
        ("infinity", &mut |n| {
            if n % 7 == 0 { f32::INFINITY } else { -0.5 }
        }),
        ("the largest number", &mut |n| {
            if n % 3 == 0 { f32::MAX } else { f32::MIN }
        }),
        ("subnormal numbers", &mut |n| 1e-40 * (n % 4) as f32),
        ("a long decay", &mut |n| (-(n as f64) / 60.0).exp() as f32),
        ("silence", &mut |_| 0.0),
    ];
    for (name, fault) in faults {
        for speed in TapeSpeed::ALL {
            let settings = PrintSettings {
                speed,
                equalisation: Equalisation::Nab,
                level_db: 18.0,
                ..PrintSettings::default()
            };
            let mut audio: Vec<f32> = (0..24_000).map(&mut *fault).collect();
            audio.resize(8 * 48_000, 0.0);
            let out = printed(&audio, rate, |_| settings, || 64);
            let loud = out.iter().fold(0.0f32, |peak, x| peak.max(x.abs()));
            assert!(out.iter().all(|x| x.is_finite()), "{name}");
            assert!(!out.iter().any(|x| x.is_subnormal()), "{name}");
            // Saturated flux at +18 dB, and what head and equaliser may add to it.
            assert!(loud < 2.0, "{name}: {loud}");
            assert!(
                out[7 * 48_000..].iter().all(|x| *x == 0.0),
                "{name}: a limit cycle"
            );
        }
    }
}

#[test]
fn a_reset_starts_again() {
    let audio = strokes(5000, 8);
    let mut print = new(48_000.0, 1);
    let mut runs = Vec::new();
    for _ in 0..2 {
        let mut out = audio.clone();
        print.process(&mut [&mut out], 1.0, &PrintSettings::default());
        runs.push(out);
        print.reset();
    }
    assert_eq!(runs[0], runs[1]);
}

#[test]
fn channels_share_nothing_but_the_settings() {
    let (left, silence) = (strokes(20_000, 5), vec![0.0; 20_000]);
    let settings = PrintSettings {
        level_db: 12.0,
        ..PrintSettings::default()
    };
    let alone = printed(&left, 48_000.0, |_| settings, || 64);
    let (mut first, mut second) = (left, silence.clone());
    new(48_000.0, 2).process(&mut [&mut first, &mut second], 0.0, &settings);
    assert_eq!(first, alone);
    assert_eq!(second, silence);
}

#[test]
fn settings_change_without_a_click() {
    let (rate, hz) = (48_000.0, 200.0);
    let tone: Vec<f32> = sine(hz, rate, 48_000).iter().map(|x| 0.3 * x).collect();
    let plain = PrintSettings::default();
    let changes = [
        (
            "level",
            PrintSettings {
                level_db: 18.0,
                ..plain
            },
        ),
        (
            "speed",
            PrintSettings {
                speed: TapeSpeed::Cm19,
                ..plain
            },
        ),
        (
            "equalisation",
            PrintSettings {
                equalisation: Equalisation::Nab,
                ..plain
            },
        ),
    ];
    for (name, other) in changes {
        let still = [plain, other].map(|settings| {
            let out = printed(&tone, rate, |_| settings, || 64);
            largest_step(&out[24_000..])
        });
        let course = |start: usize| if start < 24_000 { plain } else { other };
        let out = printed(&tone, rate, course, || 64);
        let step = largest_step(&out[20_000..]);
        println!(
            "{name}: largest step {step:.5}, before {:.5}, after {:.5}",
            still[0], still[1]
        );
        assert_below(name, step, 1.1 * still[0].max(still[1]));
        // And it arrives: the last tenth of a second is that of the new settings.
        let want = printed(&tone, rate, |_| other, || 64);
        for (a, b) in out[43_200..].iter().zip(&want[43_200..]) {
            assert_near(name, f64::from(*a), f64::from(*b), 2e-4);
        }
    }
}
