//! Tape noise: its level, its place in the song, and what a loud recording adds to it.

use plumbline_dsp::print::settings::{PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup};
use realfft::RealFftPlanner;

use crate::support::{assert_near, db, sine};

const RATE: f64 = 48_000.0;

fn noisy(hiss_db: Option<f64>, level_db: f64, speed: TapeSpeed) -> PrintSettings {
    PrintSettings {
        hiss_db,
        level_db,
        speed,
        ..PrintSettings::default()
    }
}

/// Both channels of a print of `audio` that starts at `song_s`.
fn printed(audio: &[f32], song_s: f64, settings: &PrintSettings) -> [Vec<f32>; 2] {
    let mut print = Print::new(PrintSetup {
        sample_rate: RATE,
        channels: 2,
    });
    let mut pair = [audio.to_vec(), audio.to_vec()];
    let [first, second] = &mut pair;
    for (n, (first, second)) in first.chunks_mut(64).zip(second.chunks_mut(64)).enumerate() {
        let at = song_s + (64 * n) as f64 / RATE;
        print.process(&mut [first, second], at, settings);
    }
    pair
}

/// Rms from 20 Hz to 20 kHz.
fn audible_rms(audio: &[f32]) -> f64 {
    let fft = RealFftPlanner::<f64>::new().plan_fft_forward(audio.len());
    let mut time: Vec<f64> = audio.iter().map(|x| f64::from(*x)).collect();
    let mut spectrum = fft.make_output_vec();
    fft.process(&mut time, &mut spectrum)
        .expect("a buffer of the plan's length");
    let line = |hz: f64| (hz * audio.len() as f64 / RATE) as usize;
    let power: f64 = spectrum[line(20.0)..line(20_000.0)]
        .iter()
        .map(|x| x.norm_sqr())
        .sum();
    (2.0 * power).sqrt() / audio.len() as f64
}

fn rms(audio: &[f32]) -> f64 {
    let power: f64 = audio.iter().map(|x| f64::from(*x).powi(2)).sum();
    (power / audio.len() as f64).sqrt()
}

#[test]
fn hiss_has_its_level_and_comes_down_with_the_level_to_tape() {
    let silence = vec![0.0; 96_000];
    for speed in TapeSpeed::ALL {
        for (hiss_db, level_db) in [(-60.0, 0.0), (-60.0, 12.0), (-45.0, -6.0)] {
            let [first, _] = printed(&silence, 0.0, &noisy(Some(hiss_db), level_db, speed));
            // A sine at the reference peaks at -18 dBFS.
            let got = db(audible_rms(&first)) + 18.0 + 3.01;
            println!(
                "{speed:?}, {hiss_db} dB, level to tape {level_db} dB: {got:.2} dB under the reference"
            );
            assert_near(
                &format!("{speed:?} {hiss_db} {level_db}"),
                got,
                hiss_db - level_db,
                0.3,
            );
        }
    }
}

#[test]
fn without_it_silence_stays_silence() {
    let [first, _] = printed(&vec![0.0; 10_000], 0.0, &PrintSettings::default());
    assert!(first.iter().all(|x| *x == 0.0));
}

#[test]
fn it_belongs_to_the_place_in_the_song() {
    let settings = noisy(Some(-50.0), 0.0, TapeSpeed::Cm38);
    let silence = vec![0.0; 96_000];
    let [first, second] = printed(&silence, 10.0, &settings);
    let again = printed(&silence, 10.0, &settings);
    assert_eq!([&first, &second], [&again[0], &again[1]]);
    let [later, _] = printed(&silence[..48_000], 11.0, &settings);
    assert_eq!(&first[48_000..], &later[..]);
    let shared: f64 = first
        .iter()
        .zip(&second)
        .map(|(a, b)| f64::from(a * b))
        .sum();
    let likeness = shared / 96_000.0 / rms(&first) / rms(&second);
    assert!(
        likeness.abs() < 0.02,
        "the channels' noises are alike by {likeness}"
    );
}

#[test]
fn two_renders_of_one_take_are_one() {
    let settings = noisy(Some(-50.0), 9.0, TapeSpeed::Cm19);
    let take: Vec<f32> = sine(440.0, RATE, 48_000);
    assert_eq!(
        printed(&take, 3.0, &settings),
        printed(&take, 3.0, &settings)
    );
}

#[test]
fn saturated_tape_is_noisier_by_15_db() {
    // Eldridge 1964, as quoted by TU Eindhoven: saturated tape has 15 dB more noise than bulk-erased tape.
    let settings = noisy(Some(-50.0), 18.0, TapeSpeed::Cm38);
    let quiet = PrintSettings {
        hiss_db: None,
        ..settings
    };
    let noise = |audio: &[f32]| {
        let ([with, _], [without, _]) =
            (printed(audio, 0.0, &settings), printed(audio, 0.0, &quiet));
        let difference: Vec<f32> = with.iter().zip(&without).map(|(a, b)| a - b).collect();
        db(audible_rms(&difference[48_000..]))
    };
    let loud: Vec<f32> = sine(100.0, RATE, 192_000);
    let rise = noise(&loud) - noise(&vec![0.0; 192_000]);
    println!(
        "noise of tape that is magnetised to the full, over that of unrecorded tape: {rise:.1} dB"
    );
    assert_near("rise", rise, 15.0, 1.5);
}
