//! Third harmonic against level, where it reaches 3 %, even harmonics, and how early each speed saturates.

use plumbline_dsp::print::machine::{Machine, Recording};
use plumbline_dsp::print::magnetisation::{MOL_DB, SATURATION, langevin};
use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::third_harmonic::{peak_dbfs_of, played_tone};

use crate::print_tone::{Bench, Played};
use crate::support::{assert_below, assert_near, db, write_csv};

const TONE_HZ: f64 = 1000.0;

/// Third harmonic of a played tone as a part of its fundamental.
fn third(played: &Played) -> f64 {
    played.line(3.0 * TONE_HZ) / played.line(TONE_HZ)
}

/// First and third harmonic of f(x cos θ), by the mean over a circle.
fn harmonics_of(f: impl Fn(f64) -> f64, x: f64) -> (f64, f64) {
    const POINTS: usize = 4096;
    let mut sums = (0.0, 0.0);
    for n in 0..POINTS {
        let angle = std::f64::consts::TAU * n as f64 / POINTS as f64;
        let y = f(x * angle.cos()) * 2.0 / POINTS as f64;
        sums.0 += y * angle.cos();
        sums.1 += y * (3.0 * angle).cos();
    }
    (sums.0, sums.1.abs())
}

#[test]
fn the_quadrature_finds_published_points() {
    // tanh has 3 % at 0.6288, with a fundamental of 0.5738; L(3x) at 0.4776.
    let (first, third) = harmonics_of(f64::tanh, 0.6288);
    assert_near("tanh, fundamental", first, 0.5738, 5e-5);
    assert_near("tanh, third", third / first, 0.03, 5e-6);
    let (first, third) = harmonics_of(|x| langevin(3.0 * x), 0.4776);
    assert_near("Langevin, third", third / first, 0.03, 5e-6);
}

/// Largest distance of third harmonic from Langevin's curve, -20 to +12 dB, in dB.
fn third_off(bench: &Bench) -> f64 {
    let settings = PrintSettings::default();
    let machine = Machine::lined_up(settings.speed, settings.equalisation);
    let at_tape = machine.recording_db(TONE_HZ);
    let played_db = machine.playback_db(3.0 * TONE_HZ) - machine.playback_db(TONE_HZ);
    let (mut worst, mut rows) = (0.0f64, Vec::new());
    println!("level to tape, output level, third harmonic, Langevin's");
    for step in -10..=6 {
        let level_db = 2.0 * f64::from(step);
        let played = bench.tone(TONE_HZ, level_db, &settings);
        let argument = 10f64.powf((level_db + at_tape) / 20.0) / SATURATION;
        let (first, want) = harmonics_of(langevin, argument);
        let (got, want) = (third(&played), want / first * 10f64.powf(played_db / 20.0));
        let output = played.level_db(TONE_HZ, &settings);
        println!(
            "{level_db:+5.0} dB {output:+7.2} dB {:8.4} % {:8.4} %",
            100.0 * got,
            100.0 * want
        );
        rows.push(vec![level_db, output, 100.0 * got, 100.0 * want]);
        worst = worst.max(db(got / want).abs());
    }
    write_csv(
        "print_third_harmonic",
        "level_db,output_db,third_percent,langevin_percent",
        &rows,
    );
    worst
}

#[test]
fn third_harmonic_follows_langevins_curve() {
    for rate in [44_100.0, 48_000.0, 96_000.0, 384_000.0] {
        let worst = third_off(&Bench::new(rate));
        println!("{rate} Hz: within {worst:.3} dB");
        assert_below(&format!("{rate} Hz"), worst, 0.5);
    }
}

#[test]
fn below_three_per_cent_it_goes_with_the_square_of_the_level() {
    // Level is that of the played fundamental, as tape is measured (DIN 45500).
    let (bench, settings) = (Bench::new(48_000.0), PrintSettings::default());
    let line = |level: f64| {
        let played = bench.tone(TONE_HZ, level, &settings);
        db(third(&played)) - 2.0 * played.level_db(TONE_HZ, &settings)
    };
    let lines: Vec<f64> = (-10..=5).map(|n| line(2.0 * f64::from(n))).collect();
    let (low, high) = lines
        .iter()
        .fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(*x), b.max(*x)));
    println!(
        "third harmonic over level squared, -20 to +10 dB: {:.2} dB from end to end",
        high - low
    );
    assert_below("distance from a square law", (high - low) / 2.0, 0.5);
}

#[test]
fn three_per_cent_lies_at_the_mediums_level() {
    // 1000 nWb/m, +9.9 dB over 320: within the 9 to 12 dB of data sheets of mastering tape.
    let (bench, settings) = (Bench::new(48_000.0), PrintSettings::default());
    let peak_dbfs = peak_dbfs_of(&settings, 0.03);
    let level = peak_dbfs - settings.lineup.reference_dbfs;
    let played = bench.tone(TONE_HZ, level, &settings);
    let output = played.level_db(TONE_HZ, &settings);
    println!("3 % at {output:+.2} dB over 320 nWb/m, {level:+.2} dB before saturation");
    assert_near("third harmonic", 100.0 * third(&played), 3.0, 0.03);
    assert_near("level", output, MOL_DB, 0.1);
    let machine = Machine::lined_up(settings.speed, settings.equalisation);
    assert_near(
        "closed form",
        played_tone(&machine, level).level_db,
        output,
        0.02,
    );
}

#[test]
fn even_harmonics_are_far_below_the_third() {
    let (bench, settings) = (Bench::new(48_000.0), PrintSettings::default());
    for level in [-6.0, 0.0, 6.0, 12.0] {
        let played = bench.tone(TONE_HZ, level, &settings);
        let even = played.line(2.0 * TONE_HZ).max(played.line(4.0 * TONE_HZ));
        let below = db(played.line(3.0 * TONE_HZ) / even);
        println!("{level:+} dB: even harmonics {below:.0} dB below the third");
        assert!(below >= 40.0, "{level} dB: {below}");
    }
}

/// Level at which a tone has lost 1 dB, dB over the reference.
fn one_db_down(bench: &Bench, hz: f64, settings: &PrintSettings) -> f64 {
    let loss = |level: f64| level - bench.tone(hz, level, settings).level_db(hz, settings);
    let small = loss(-30.0);
    let (mut low, mut high) = (-20.0, 30.0);
    while high - low > 0.05 {
        let middle = 0.5 * (low + high);
        if loss(middle) - small < 1.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// 10 kHz against 1 kHz by speed: how many dB earlier it saturates.
fn earlier(bench: &Bench, equalisation: Equalisation) -> [f64; 3] {
    TapeSpeed::ALL.map(|speed| {
        let settings = PrintSettings {
            speed,
            equalisation,
            ..PrintSettings::default()
        };
        let [low, high] = [1000.0, 10_000.0].map(|hz| one_db_down(bench, hz, &settings));
        println!(
            "{speed:?} {equalisation:?}: 1 dB of compression at {low:+.1} dB (1 kHz), {high:+.1} dB (10 kHz): {:.1} dB earlier",
            low - high
        );
        low - high
    })
}

#[test]
fn short_waves_saturate_earlier_at_low_speed() {
    let [at_19, at_38, at_76] = earlier(&Bench::new(48_000.0), Equalisation::Iec);
    assert!(at_19 > at_38 + 1.0 && at_38 > at_76 + 0.5 && at_76 > 1.0);
    // At 38 cm/s NAB's playback lifts the treble more than IEC's: less has to be given before.
    let [at_19, at_38, _] = earlier(&Bench::new(48_000.0), Equalisation::Nab);
    assert!(at_19 > at_38 + 1.0);
}

#[test]
fn missing_pre_emphasis_saturates_no_earlier() {
    // Self-test of the row above.
    let straight = |speed: TapeSpeed, equalisation: Equalisation| Machine {
        recording: Recording::Straight,
        ..Machine::lined_up(speed, equalisation)
    };
    let [at_19, at_38, at_76] = earlier(&Bench::new(48_000.0).with(straight), Equalisation::Iec);
    assert!(at_19 < 1.0 && at_38 < 1.0 && at_76 < 1.0);
}

/// What no harmonic explains, dB below the print; up to 20 kHz, and to half the rate at 44.1 kHz. (At 48 kHz the
/// oversampler lets products from 24 to 28 kHz fold to 20 to 24 kHz.)
fn aliased_db(bench: &Bench, hz: f64, settings: &PrintSettings) -> f64 {
    let played = bench.tone(hz, 12.0, settings);
    let top_hz = if bench.rate < 48_000.0 {
        bench.rate / 2.0
    } else {
        20_000.0
    };
    db(played.aliased(hz, top_hz) / played.line(hz))
}

#[test]
fn alias_products_are_below_hearing() {
    for (rate, speed, equalisation) in [44_100.0, 48_000.0, 96_000.0].into_iter().flat_map(|rate| {
        let pairs = TapeSpeed::ALL.map(|s| Equalisation::ALL.map(|e| (s, e)));
        pairs
            .as_flattened()
            .to_vec()
            .into_iter()
            .map(move |(s, e)| (rate, s, e))
    }) {
        let settings = PrintSettings {
            speed,
            equalisation,
            ..PrintSettings::default()
        };
        for hz in [5000.0, 15_000.0] {
            let got = aliased_db(&Bench::new(rate), hz, &settings);
            println!("{rate} Hz, {speed:?} {equalisation:?}, {hz} Hz at +12 dB: {got:.1} dB");
            let case = format!("{rate}, {speed:?}, {equalisation:?}, {hz} Hz");
            assert_below(&case, got, -90.0);
        }
    }
}

#[test]
fn missing_oversampling_is_seen() {
    let bench = Bench {
        stages: 0,
        ..Bench::new(44_100.0)
    };
    for hz in [5000.0, 15_000.0] {
        let got = aliased_db(&bench, hz, &PrintSettings::default());
        assert!(got > -60.0, "{hz} Hz: {got}");
    }
}
