//! Sweep as the shell runs it: null point, comb, pitch, time, bounces and changes.

use std::f64::consts::{LN_2, TAU};

use plumbline_dsp::decks::drag::{BRAKE_S, Decks, FULL_DRAG, Hands};
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_clock::{SongPosition, Transport};
use plumbline_dsp::decks::wobble::{WobbleAmounts, weighting_db};
use plumbline_dsp::decks::{Sweep, SweepSetup};
use realfft::RealFftPlanner;

use crate::flutter_meter::{TONE_HZ, WEIGHTING, reading_percent};
use crate::support::{
    Noise, assert_below, assert_near, db, largest_step, sine, sine_at, write_csv,
};

const RATE: f64 = 48_000.0;
const BPM: f64 = 108.0;

/// A mono sweep fed with a song at 108 bpm, 4/4, that starts at sample `at` of the song.
struct Rig {
    sweep: Sweep,
    rate: f64,
    at: usize,
    /// Offset in force after each block, seconds.
    offsets: Vec<f64>,
}

impl Rig {
    fn new(rate: f64, at: usize) -> Self {
        let setup = SweepSetup {
            sample_rate: rate,
            channels: 1,
            delayed_before: 0,
        };
        Self {
            sweep: Sweep::new(setup),
            rate,
            at,
            offsets: Vec::new(),
        }
    }

    fn transport(&self) -> Transport {
        let seconds = self.at as f64 / self.rate;
        Transport::Running(SongPosition {
            seconds,
            beats: seconds * BPM / 60.0,
            tempo_bpm: BPM,
            ..SongPosition::default()
        })
    }

    /// One block in place.
    fn block(&mut self, audio: &mut [f32], course: &CourseSettings, mix: &MixSettings) {
        let transport = self.transport();
        self.sweep.process(&mut [audio], course, mix, transport);
        self.at += audio.len();
        self.offsets.push(self.sweep.offset_s());
    }

    /// All of `audio` in blocks of 64 with settings that depend on the song's sample.
    fn run(
        &mut self,
        audio: &mut [f32],
        course: impl Fn(usize) -> CourseSettings,
        mix: &MixSettings,
    ) {
        for block in audio.chunks_mut(64) {
            let settings = course(self.at);
            self.block(block, &settings, mix);
        }
    }
}

fn still(offset_s: f64) -> CourseSettings {
    CourseSettings {
        offset_s,
        ..CourseSettings::default()
    }
}

fn moving_alone() -> MixSettings {
    MixSettings {
        blend: 1.0,
        ..MixSettings::default()
    }
}

fn flipped() -> MixSettings {
    MixSettings {
        flip: true,
        ..MixSettings::default()
    }
}

#[test]
fn at_the_null_point_the_output_is_the_input_and_flipped_it_is_silent() {
    for rate in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0, 768_000.0] {
        let input = Noise::new(11).samples(20_000 + (rate * 0.02) as usize);
        for blend in [0.0, 0.3, 0.5, 1.0] {
            let mix = MixSettings {
                blend,
                ..MixSettings::default()
            };
            let mut rig = Rig::new(rate, 0);
            let mut audio = input.clone();
            rig.run(&mut audio, |_| still(0.0), &mix);
            let latency = rig.sweep.latency();
            let exact = audio[latency..] == input[..input.len() - latency];
            assert!(exact, "{rate} Hz, blend {blend}");
        }
        let mut audio = input.clone();
        Rig::new(rate, 0).run(&mut audio, |_| still(0.0), &flipped());
        assert!(audio.iter().all(|y| *y == 0.0), "{rate} Hz, flipped");
    }
}

/// Spectrum of the response to an impulse, lines `rate / size` apart; of one deck each the gain is one half.
fn response(offset_s: f64, mix: &MixSettings, size: usize) -> Vec<f64> {
    let mut rig = Rig::new(RATE, 0);
    let mut settle = vec![0.0; 4096];
    rig.run(&mut settle, |_| still(offset_s), mix);
    let mut audio = vec![0.0; size];
    audio[0] = 1.0;
    rig.run(&mut audio, |_| still(offset_s), mix);
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(size);
    let mut time: Vec<f64> = audio.iter().map(|x| f64::from(*x)).collect();
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut time, &mut spectrum)
        .expect("its own buffers");
    spectrum.iter().map(|line| line.norm()).collect()
}

/// 2 cos πfd, nulls at (2k + 1) / 2d: F. A. Everest, K. C. Pohlmann, Master Handbook of Acoustics, ch. 10.
#[test]
fn the_comb_is_the_closed_form_on_both_sides_of_the_null_point() {
    let size = 1 << 17;
    let line_hz = RATE / size as f64;
    let mut rows = Vec::new();
    for ms in [0.05, 0.5, 1.0, 5.0, 12.0] {
        let mix = MixSettings::default();
        let late = response(ms / 1000.0, &mix, size);
        let early = response(-ms / 1000.0, &mix, size);
        for (index, (late, early)) in late.iter().zip(&early).enumerate() {
            let hz = index as f64 * line_hz;
            if !(10.0..=20_000.0).contains(&hz) {
                continue;
            }
            let want = (TAU / 2.0 * hz * ms / 1000.0).cos().abs();
            let case = format!("{ms} ms, {hz:.1} Hz");
            assert_near(&case, *late, want, 2e-6);
            assert_near(
                &format!("{case}, both sides"),
                *late,
                *early,
                1.15e-4 * want + 2e-6,
            );
            if index % 16 == 0 {
                rows.push(vec![ms, hz, db(want), db(*late), db(*early)]);
            }
        }
        for k in 0..((20_000.0 * ms / 1000.0 + 0.5) as usize).min(20) {
            let want = (k as f64 + 0.5) / (ms / 1000.0);
            let near = (want / line_hz).round() as usize;
            let lowest = (near - 40..near + 40).min_by(|a, b| late[*a].total_cmp(&late[*b]));
            let line = lowest.expect("lines");
            // Near its null a comb is |f - null|: both neighbours give the place between two lines.
            let (a, b) = (late[line - 1], late[line + 1]);
            let got = (line as f64 + (a - b) / (a + b)) * line_hz;
            assert_near(&format!("{ms} ms, null {k}"), got, want, want * 1e-3);
        }
    }
    write_csv(
        "sweep_comb",
        "offset_ms,hz,closed_form_db,late_db,early_db",
        &rows,
    );
}

#[test]
fn residue_of_a_flipped_deck() {
    // 20 log |2 sin πfd| against one deck (computed): offset in µs, Hz, dB.
    let table = [
        (1.0, 1000.0, -44.0),
        (10.0, 1000.0, -24.0),
        (10.0, 10_000.0, -4.2),
        (100.0, 1000.0, -4.2),
    ];
    let size = 48_000;
    for (us, hz, want) in table {
        for side in [1.0, -1.0] {
            let spectrum = response(side * us * 1e-6, &flipped(), size);
            let got = db(2.0 * spectrum[hz as usize]);
            assert_near(&format!("{us} µs, {hz} Hz, side {side}"), got, want, 0.1);
        }
    }
}

/// A tone of `hz` through the moving deck alone while a hand draws a line of `speed` (s/s) through the null point.
/// Returns input place of the middle, and output.
fn ramped(hz: f64, rate: f64, speed: f64, block: usize) -> (Vec<f32>, f64, usize) {
    let count = ((0.022 / speed.abs()).min(2.0) * rate) as usize;
    let middle = count as f64 / 2.0;
    let mut rig = Rig::new(rate, 0);
    let mut audio = sine(hz, rate, count);
    // One point at the start of every block.
    let line = |n: usize| still(speed * (n as f64 - middle) / rate);
    for block in audio.chunks_mut(block) {
        let settings = line(rig.at);
        rig.block(block, &settings, &moving_alone());
    }
    let latency = rig.sweep.latency();
    (audio, middle, latency)
}

#[test]
fn a_drawn_line_is_exact_in_pitch_and_place() {
    // Target: relative error of the frequency at most 1e-6, everything else at most -110 dB, up to 5 % speed.
    let mut rows = Vec::new();
    for (rate, speed, block) in [
        (44_100.0, 0.01, 64),
        (48_000.0, 0.01, 1),
        (48_000.0, 0.01, 480),
        (48_000.0, -0.049, 64),
        (48_000.0, 0.02, 512),
        (96_000.0, 0.001, 960),
    ] {
        let (audio, middle, latency) = ramped(1000.0, rate, speed, block);
        let width = (0.06 * rate) as usize;
        let ideal = |n: usize| {
            let played = n as f64 - latency as f64;
            sine_at(1000.0, rate, played - speed * (played - middle))
        };
        let from = latency + width;
        let errors = (from..audio.len() - width).map(|n| f64::from(audio[n]) - ideal(n));
        let worst = db(errors.map(f64::abs).fold(0.0, f64::max));
        let frequency = frequency(
            &audio[from..audio.len() - width],
            1000.0 * (1.0 - speed),
            rate,
        );
        let want = 1000.0 * (1.0 - speed);
        let case = format!("{rate} Hz, speed {speed}, a point every {block}");
        assert_near(&case, frequency, want, want * 1e-6);
        assert_below(&format!("{case}, error in dB"), worst, -110.0);
        println!("{case}: {frequency:.6} Hz, everything else {worst:.1} dB");
        rows.push(vec![rate, speed, frequency, want, worst]);
    }
    write_csv(
        "sweep_doppler",
        "sample_rate,speed,hz,exact_hz,error_db",
        &rows,
    );
}

/// Frequency near `hz` from the phases of the first and the last third under a Hann window.
fn frequency(audio: &[f32], hz: f64, rate: f64) -> f64 {
    let third = audio.len() / 3;
    let phase = |start: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for n in 0..third {
            let window = 1.0 - (TAU * n as f64 / third as f64).cos();
            let (sin, cos) = (TAU * (hz / rate * (start + n) as f64).fract()).sin_cos();
            let x = f64::from(audio[start + n]) * window;
            (re, im) = (re + x * cos, im - x * sin);
        }
        im.atan2(re) / TAU
    };
    let turns = phase(2 * third) - phase(0);
    hz + (turns - turns.round()) * rate / (2 * third) as f64
}

#[test]
fn published_pitches() {
    // dD/dt = 0.01: 990.00 Hz; -0.049 (a drawn line cannot be faster than 5 %): 1049.0 Hz. Read head: 1 - dD/dt
    // (J. O. Smith, Physical Audio Signal Processing; formula from memory).
    for (speed, want) in [(0.01, 990.0), (-0.049, 1049.0)] {
        let (audio, _, latency) = ramped(1000.0, RATE, speed, 64);
        let got = frequency(&audio[latency + 3000..audio.len() - 3000], want, RATE);
        assert_near(&format!("speed {speed}"), got, want, 0.05);
    }
    // A deck 0.5 % slower: 8.63 cents, within 0.05 (1200 log2 1.005; exact for a slower deck is 1 / 0.995, 8.68).
    let (audio, _, latency) = ramped(1000.0, RATE, 0.005, 64);
    let got = frequency(&audio[latency + 3000..audio.len() - 3000], 995.0, RATE);
    let cents = 1200.0 * (1000.0 / got).ln() / LN_2;
    assert_near("cents", cents, 8.63, 0.05);
}

#[test]
fn a_fast_deck_does_not_fold_treble_into_the_audible() {
    // Reading faster by e folds what is above fs / 2(1 + e) to fs - (1 + e) fs / 2 and up (computed). 20 kHz at 44.1 kHz
    // read 4.9 % fast: a tone at 20.98 kHz, everything under 20 kHz at most -80 dB.
    let (audio, _, latency) = ramped(20_000.0, 44_100.0, -0.049, 64);
    let size = 8192;
    let part = &audio[latency + 3000..latency + 3000 + size];
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(size);
    let blackman = |n: usize| {
        // Nuttall's four-term window, sidelobes under -93 dB.
        let w = TAU * n as f64 / size as f64;
        0.363_581_9 - 0.489_177_5 * w.cos() + 0.136_599_5 * (2.0 * w).cos()
            - 0.010_641_1 * (3.0 * w).cos()
    };
    let windowed = part
        .iter()
        .enumerate()
        .map(|(n, x)| f64::from(*x) * blackman(n));
    let mut time: Vec<f64> = windowed.collect();
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut time, &mut spectrum)
        .expect("its own buffers");
    let line_hz = 44_100.0 / size as f64;
    let level = |line: usize| db(spectrum[line].norm() / (0.363_581_9 * size as f64 / 2.0));
    let tone = (20_980.0 / line_hz).round() as usize;
    assert_near("tone, dB", level(tone), 0.0, 1.0);
    let loudest = (1..(20_000.0 / line_hz) as usize)
        .map(level)
        .fold(-400.0, f64::max);
    println!("20 kHz read 4.9 % fast: loudest product under 20 kHz {loudest:.1} dB");
    assert_below("products under 20 kHz, dB", loudest, -80.0);
}

#[test]
fn half_a_per_cent_of_speed_is_five_milliseconds_in_a_second() {
    // d grows by e seconds a second (computed). A triangle of ±10 ms in 8 s runs at 5 ms a second.
    let settings = cycle(Curve::Triangle, 0.010, Pace::Hertz(0.125));
    for rate in [44_100.0, 48_000.0, 192_000.0] {
        let mut rig = Rig::new(rate, 0);
        let mut audio = vec![0.0; rate as usize + rig.sweep.latency() + 1];
        for block in audio.chunks_mut(1) {
            rig.block(block, &settings, &MixSettings::default());
        }
        let offset_s = *rig.offsets.last().expect("blocks");
        assert_near(&format!("{rate} Hz, s"), offset_s, 0.005, 1.0 / rate);
    }
}

#[test]
fn braking_a_deck() {
    // d(t) = e (t - τ (1 - exp(-t / τ))): 0.5 % and 0.2 s give 4.007 ms after a second (computed; the time constant is an
    // order of magnitude from memory).
    assert_eq!(BRAKE_S, 0.2);
    for rate in [44_100.0, 48_000.0, 192_000.0] {
        let mut decks = Decks::new(rate);
        for _ in 0..rate as usize {
            decks.step(Hands::Drag(0.005 / FULL_DRAG), 0.012);
        }
        assert_near(
            &format!("{rate} Hz, ms"),
            decks.offset_s() * 1000.0,
            4.007,
            0.001,
        );
    }
}

fn cycle(curve: Curve, range_s: f64, pace: Pace) -> CourseSettings {
    CourseSettings {
        motion: Motion::Cycle,
        range_s,
        pace,
        curve,
        ..CourseSettings::default()
    }
}

#[test]
fn a_swing_of_the_offset_is_the_published_flutter() {
    // A sine of peak p at f Hz swings the offset by p / 2πf: 0.05 % at 4 Hz 19.9 µs, 0.1 % at 0.5 Hz 318.3 µs (computed).
    for (hz, range_us, percent) in [(4.0, 19.894, 0.05), (0.5, 318.31, 0.1)] {
        let settings = cycle(Curve::Sine, range_us * 1e-6, Pace::Hertz(hz));
        let mut rig = Rig::new(RATE, 0);
        let mut audio = sine(TONE_HZ, RATE, 30 * 48_000);
        rig.run(&mut audio, |_| settings, &moving_alone());
        let largest = rig.offsets.iter().fold(0.0f64, |a, b| a.max(b.abs()));
        assert_near(&format!("{hz} Hz, µs"), largest * 1e6, range_us, 0.1);
        let want = percent * 0.997 * 10f64.powf(weighting_db(hz) / 20.0);
        let got = reading_percent(&audio[4800..], RATE);
        assert_near(&format!("{hz} Hz, weighted %"), got, want, want * 0.06);
    }
}

#[test]
fn wow_and_flutter_read_what_they_say() {
    for (hz, db) in WEIGHTING {
        assert_near(&format!("weighting at {hz} Hz"), weighting_db(hz), db, 1e-9);
    }
    let amounts = |wow: f64, flutter: f64| WobbleAmounts { wow, flutter };
    let table = [
        ("flutter 0.05 %", amounts(0.0, 0.0005), 0.05),
        ("flutter 0.2 %", amounts(0.0, 0.002), 0.2),
        ("wow 0.05 %", amounts(0.0005, 0.0), 0.05),
        ("wow 0.2 %", amounts(0.002, 0.0), 0.2),
    ];
    for (case, wobble, want) in table {
        let settings = CourseSettings {
            wobble,
            ..CourseSettings::default()
        };
        let mut rig = Rig::new(RATE, 0);
        let mut audio = sine(TONE_HZ, RATE, 60 * 48_000);
        rig.run(&mut audio, |_| settings, &moving_alone());
        let got = reading_percent(&audio[4800..], RATE);
        println!("{case}: reads {got:.4} %");
        assert_near(case, got, want, want * 0.05);
    }
}

/// How a scene's settings change.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Drawn {
    /// They stay.
    Constant,
    /// A point every 64 samples of the song; no block crosses one, as the shell splits them there.
    Points,
}

/// Name, how it is drawn, settings at a sample of the song.
type Scene = (&'static str, Drawn, fn(usize) -> CourseSettings);

const SCENES: [Scene; 6] = [
    ("hand", Drawn::Points, |n| {
        still(0.002 * (n as f64 / 64_000.0).sin())
    }),
    ("cycle", Drawn::Constant, |_| {
        cycle(Curve::Sine, 0.012, Pace::Beats(4.0))
    }),
    ("cycle of drawn range", Drawn::Points, |n| {
        let range_s = 0.003 + 0.001 * (n as f64 / 100_000.0).cos();
        cycle(Curve::Reel, range_s, Pace::Beats(4.0))
    }),
    ("free cycle", Drawn::Constant, |_| {
        cycle(Curve::Triangle, 0.002, Pace::Hertz(0.37))
    }),
    ("pass", Drawn::Points, |n| CourseSettings {
        motion: Motion::Pass,
        start: (BAR * 4 + 6400..BAR * 4 + 12_800).contains(&n),
        ..cycle(Curve::Sine, 0.003, Pace::Beats(6.0))
    }),
    ("wow and flutter", Drawn::Constant, |_| CourseSettings {
        wobble: WobbleAmounts {
            wow: 0.0005,
            flutter: 0.0005,
        },
        ..CourseSettings::default()
    }),
];

/// Samples in a bar of 4/4 at 108 bpm and 48 kHz, a multiple of 64 nearby: where renders start.
const BAR: usize = 106_624;

/// Blocks of one length, or of random ones from 1 to 512.
#[derive(Clone, Copy, Debug)]
enum Split {
    Even(usize),
    Random,
}

fn render((_, drawn, settings): Scene, from: usize, to: usize, split: Split) -> Vec<f32> {
    let mut rig = Rig::new(RATE, from);
    let mut random = Noise::new(17);
    let mut audio = sine(440.0, RATE, to).split_off(from);
    let mut at = 0;
    while at < audio.len() {
        let wanted = match split {
            Split::Random => 1 + (random.next().abs() * 512.0) as usize,
            Split::Even(length) => length,
        };
        let length = match drawn {
            Drawn::Points => wanted.min(64 - (from + at) % 64),
            Drawn::Constant => wanted,
        };
        let end = audio.len().min(at + length);
        let settings = settings((from + at) / 64 * 64);
        rig.block(&mut audio[at..end], &settings, &MixSettings::default());
        at = end;
    }
    audio
}

#[test]
fn every_bounce_is_the_same() {
    for scene in SCENES {
        let name = scene.0;
        let end = BAR * 6;
        let whole = render(scene, 0, end, Split::Even(64));
        for split in [
            Split::Even(1),
            Split::Even(480),
            Split::Even(1024),
            Split::Random,
        ] {
            let worst = difference(&whole, &render(scene, 0, end, split));
            println!("{name}, {split:?}: {worst:.1} dB");
            assert_below(&format!("{name}, {split:?}, dB"), worst, -140.0);
        }
        let from_bar_five = render(scene, BAR * 4, end, Split::Even(64));
        // What came before bar five is missing in the lines and between the automated points.
        let settled = 2400;
        let worst = difference(&whole[BAR * 4 + settled..], &from_bar_five[settled..]);
        println!("{name}, from bar 5 against from bar 1: {worst:.1} dB");
        assert_below(&format!("{name}, from bar five, dB"), worst, -140.0);
    }
}

fn difference(a: &[f32], b: &[f32]) -> f64 {
    let differences = a.iter().zip(b).map(|(a, b)| f64::from((a - b).abs()));
    db(differences.fold(0.0, f64::max))
}

#[test]
fn other_rates_have_the_same_offset_at_the_same_place_in_the_song() {
    let place_s = 3.0;
    let offset = |rate: f64, scene: Scene| {
        let mut rig = Rig::new(rate, 0);
        let count = (place_s * rate) as usize + rig.sweep.latency() + 1;
        let mut audio = vec![0.0; count];
        for block in audio.chunks_mut(1) {
            let settings = scene.2((rig.at as f64 * RATE / rate) as usize);
            rig.block(block, &settings, &MixSettings::default());
        }
        *rig.offsets.last().expect("blocks")
    };
    for scene in SCENES {
        let name = scene.0;
        let want = offset(RATE, scene);
        for rate in [44_100.0, 96_000.0, 192_000.0] {
            let case = format!("{name} at {rate} Hz, µs");
            assert_near(&case, offset(rate, scene) * 1e6, want * 1e6, 1.0);
        }
    }
}

/// Song samples at which the audio heard crosses the null point.
fn crossings(settings: impl Fn(usize) -> CourseSettings, from: usize, count: usize) -> Vec<f64> {
    let mut rig = Rig::new(RATE, from);
    let mut audio = vec![0.0; count];
    for block in audio.chunks_mut(1) {
        let settings = settings(rig.at);
        rig.block(block, &settings, &MixSettings::default());
    }
    let heard = from as f64 - rig.sweep.latency() as f64;
    let signs = rig.offsets.windows(2).enumerate().skip(rig.sweep.latency());
    signs
        .filter(|(_, w)| w[0] < 0.0 && w[1] >= 0.0)
        .map(|(n, w)| heard + n as f64 + w[0] / (w[0] - w[1]))
        .collect()
}

#[test]
fn the_null_point_lands_on_the_bar_line() {
    let bar = 4.0 * 60.0 / BPM * RATE;
    // A pass of two bars cued inside bar 3 begins on bar 4's line; its middle is the line of bar 5.
    let pass = |n: usize| CourseSettings {
        motion: Motion::Pass,
        start: n as f64 > 2.3 * bar,
        ..cycle(Curve::Reel, 0.003, Pace::Beats(8.0))
    };
    let crossed = crossings(pass, (2.0 * bar) as usize, (3.0 * bar) as usize);
    assert_eq!(crossed.len(), 1, "{crossed:?}");
    assert_near("pass, samples", crossed[0], 4.0 * bar, 1.0);
    // A cycle of four bars passes it upwards on every fourth bar line: also after an hour.
    for first_bar in [0.0, 1616.0] {
        let settings = cycle(Curve::Sine, 0.012, Pace::Beats(16.0));
        let from = ((first_bar + 3.9) * bar) as usize;
        let crossed = crossings(|_| settings, from, 20_000);
        assert_eq!(crossed.len(), 1, "{crossed:?}");
        assert_near("cycle, samples", crossed[0], (first_bar + 4.0) * bar, 0.01);
    }
}

#[test]
fn changes_make_no_click() {
    // Largest step at most 1.1 times the input's own.
    type Change = fn(&mut CourseSettings, &mut MixSettings);
    let changes: [(&str, Change); 13] = [
        ("engage", |_, mix| mix.engage = false),
        ("flip", |_, mix| mix.flip = true),
        ("blend", |_, mix| mix.blend = 1.0),
        ("width", |_, mix| mix.width = -1.0),
        ("hand", |course, _| course.motion = Motion::Hand),
        ("pass", |course, _| course.motion = Motion::Pass),
        ("drag", |course, _| {
            course.motion = Motion::Drag;
            course.hands = Hands::Drag(1.0);
        }),
        ("curve", |course, _| course.curve = Curve::Triangle),
        ("pace", |course, _| course.pace = Pace::Beats(3.0)),
        ("range", |course, _| course.range_s = 0.0005),
        ("offset", |course, _| course.offset_s = -0.009),
        ("wow", |course, _| course.wobble.wow = 0.005),
        ("free", |course, _| course.pace = Pace::Hertz(0.3)),
    ];
    for (name, change) in changes {
        for hz in [97.0, 997.0, 5003.0] {
            let mut course = cycle(Curve::Sine, 0.004, Pace::Beats(16.0));
            let mut mix = MixSettings::default();
            let mut rig = Rig::new(RATE, 30_000);
            let input = sine(hz, RATE, 60_000);
            let mut audio = input.clone();
            rig.run(&mut audio[..30_016], |_| course, &mix);
            change(&mut course, &mut mix);
            rig.run(&mut audio[30_016..], |_| course, &mix);
            let ratio = largest_step(&audio[5000..]) / largest_step(&input);
            assert_below(&format!("{name}, {hz} Hz"), ratio, 1.1);
        }
    }
}

#[test]
fn a_free_cycle_goes_on_from_where_it_is_at_its_new_rate() {
    let mut rig = Rig::new(RATE, 4_800_000);
    let mut audio = vec![0.0; 96_000];
    for (n, block) in audio.chunks_mut(64).enumerate() {
        let rate = 0.1 + 0.4 * (n as f64 / 1500.0);
        let settings = cycle(Curve::Sine, 0.003, Pace::Hertz(rate));
        rig.block(block, &settings, &MixSettings::default());
    }
    let steps = rig.offsets.windows(2).map(|w| (w[1] - w[0]).abs());
    let fastest = steps.fold(0.0, f64::max) * RATE / 64.0;
    assert_below("speed", fastest, 0.003 * TAU * 0.5);
}

#[test]
fn two_cuts_within_one_fade_make_no_click() {
    let mut rig = Rig::new(RATE, 48_000);
    let input = sine(997.0, RATE, 30_000);
    let mut audio = input.clone();
    for (n, block) in audio.chunks_mut(64).enumerate() {
        // Every 5 ms another song position.
        if n > 200 && n < 300 && n % 4 == 0 {
            rig.at += 77_777;
        }
        let settings = cycle(Curve::Triangle, 0.004, Pace::Beats(16.0));
        rig.block(block, &settings, &MixSettings::default());
    }
    let ratio = largest_step(&audio[5000..]) / largest_step(&input);
    assert_below("largest step", ratio, 1.1);
}

#[test]
fn a_jump_in_the_song_makes_no_click_and_leaves_no_trace() {
    let settings = cycle(Curve::Sine, 0.004, Pace::Beats(16.0));
    let mut rig = Rig::new(RATE, 48_000);
    let input = sine(997.0, RATE, 60_000);
    let mut audio = input.clone();
    rig.run(&mut audio[..30_016], |_| settings, &MixSettings::default());
    rig.at = 300_000;
    rig.run(&mut audio[30_016..], |_| settings, &MixSettings::default());
    let ratio = largest_step(&audio[5000..]) / largest_step(&input);
    assert_below("largest step", ratio, 1.1);
    let mut fresh = Rig::new(RATE, 300_000);
    let mut other = input[30_016..].to_vec();
    fresh.run(&mut other, |_| settings, &MixSettings::default());
    let settled = 576 + 32 + 960 + 1200;
    assert_eq!(audio[30_016 + settled..], other[settled..]);
}

#[test]
fn drag_starts_from_the_null_point_after_a_jump_and_recue_returns_to_it() {
    let drag = |hands: Hands| CourseSettings {
        motion: Motion::Drag,
        hands,
        ..CourseSettings::default()
    };
    let mut rig = Rig::new(RATE, 0);
    let mut audio = vec![0.0; 48_000];
    rig.run(
        &mut audio,
        |_| drag(Hands::Drag(0.5)),
        &MixSettings::default(),
    );
    assert!(rig.sweep.offset_s() > 0.002);
    rig.run(&mut audio, |_| drag(Hands::Recue), &MixSettings::default());
    assert_eq!(rig.sweep.offset_s(), 0.0);
    rig.run(
        &mut audio,
        |_| drag(Hands::Drag(-0.5)),
        &MixSettings::default(),
    );
    assert!(rig.sweep.offset_s() < -0.002);
    rig.at += 480_000;
    rig.run(
        &mut audio[..4800],
        |_| drag(Hands::Drag(0.0)),
        &MixSettings::default(),
    );
    assert_eq!(rig.sweep.offset_s(), 0.0);
}

#[test]
fn nonsense_stays_finite() {
    let nonsense = CourseSettings {
        motion: Motion::Cycle,
        offset_s: f64::NAN,
        range_s: f64::INFINITY,
        pace: Pace::Beats(f64::NAN),
        ..CourseSettings::default()
    };
    let mix = MixSettings {
        blend: f64::NAN,
        width: f64::INFINITY,
        ..MixSettings::default()
    };
    for rate in [f64::NAN, 0.0, 8_000.0, 768_000.0] {
        let mut sweep = Sweep::new(SweepSetup {
            sample_rate: rate,
            channels: 2,
            delayed_before: 0,
        });
        let place = SongPosition {
            seconds: f64::NAN,
            beats: f64::INFINITY,
            ..SongPosition::default()
        };
        for transport in [Transport::Running(place), Transport::Standing] {
            let (mut a, mut b) = (vec![f32::NAN; 3000], vec![f32::INFINITY; 3000]);
            sweep.process(&mut [&mut a, &mut b], &nonsense, &mix, transport);
            sweep.process(&mut [&mut [], &mut []], &nonsense, &mix, transport);
            sweep.process(&mut [], &nonsense, &mix, transport);
            assert!(a.iter().chain(&b).all(|y| y.is_finite()));
        }
    }
}
