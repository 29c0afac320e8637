//! Response of the print: standards' curves, each loss alone, and what a lined-up machine makes of all of them.

use plumbline_dsp::print::contour::Contour;
use plumbline_dsp::print::equalisation::TimeConstants;
use plumbline_dsp::print::losses::Losses;
use plumbline_dsp::print::machine::{Machine, Recording};
use plumbline_dsp::print::response_db;
use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};

use crate::print_tone::Bench;
use crate::support::{assert_below, assert_near};

/// Ten frequencies for the losses.
const TEN_HZ: [f64; 10] = [
    100.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 12_500.0, 16_000.0, 20_000.0,
];
/// From 40 Hz to 15 kHz.
const FLAT_HZ: [f64; 13] = [
    40.0, 50.0, 63.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 10_000.0, 12_500.0,
    15_000.0,
];

fn at(speed: TapeSpeed, equalisation: Equalisation) -> PrintSettings {
    PrintSettings {
        speed,
        equalisation,
        ..PrintSettings::default()
    }
}

/// Flux on tape, dB, of IEC 60094-1 and NAB, by the formula of IEC 60094-1 clause 15 with the constants of IASA TC-04
/// 5.4.10. Hertz, then AES / IEC at 76, IEC at 38, NAB, IEC at 19.
const FLUX_DB: [(f64, [f64; 4]); 8] = [
    (31.5, [0.0, 0.0, 5.47, 0.0]),
    (50.0, [0.0, 0.0, 3.01, 0.0]),
    (100.0, [0.0, 0.0, 0.97, -0.01]),
    (1000.0, [-0.05, -0.21, -0.40, -0.77]),
    (5000.0, [-1.15, -3.44, -5.40, -7.66]),
    (10_000.0, [-3.44, -7.66, -10.36, -13.08]),
    (15_000.0, [-5.71, -10.75, -13.66, -16.49]),
    (20_000.0, [-7.66, -13.08, -16.07, -18.94]),
];
/// What the columns are.
const COLUMNS: [(TapeSpeed, Equalisation); 4] = [
    (TapeSpeed::Cm76, Equalisation::Iec),
    (TapeSpeed::Cm38, Equalisation::Iec),
    (TapeSpeed::Cm38, Equalisation::Nab),
    (TapeSpeed::Cm19, Equalisation::Iec),
];

/// The playback equaliser alone.
fn equaliser(speed: TapeSpeed, equalisation: Equalisation) -> Machine {
    Machine {
        losses: Losses::NONE,
        contour: None,
        recording: Recording::Straight,
        ..Machine::lined_up(speed, equalisation)
    }
}

#[test]
fn equalisers_follow_the_standards() {
    for rate in [44_100.0, 48_000.0, 96_000.0] {
        let bench = Bench::new(rate).with(equaliser);
        let mut worst = 0.0f64;
        for (hz, row) in FLUX_DB {
            for (want, (speed, equalisation)) in row.into_iter().zip(COLUMNS) {
                let case = format!("{rate} Hz, {hz} Hz, {speed:?} {equalisation:?}");
                let formula = TimeConstants::of(speed, equalisation).flux_db(hz);
                assert_near(&format!("{case}, formula"), formula, want, 0.0051);
                // 31.5 Hz is no whole number of hertz; the machine is as smooth there as at 32.
                let hz = hz.ceil();
                let want = TimeConstants::of(speed, equalisation).flux_db(hz);
                let got = -bench.gain_db(hz, &at(speed, equalisation));
                worst = worst.max((got - want).abs());
                assert_near(&case, got, want, 0.05);
            }
        }
        println!("equalisers at {rate} Hz: within {worst:.4} dB of the standards");
    }
}

/// Machines that lose in one way only, and nothing is done about it.
fn only(losses: Losses, speed: TapeSpeed) -> Machine {
    Machine {
        metres_a_second: speed.metres_a_second(),
        losses,
        time_constants: TimeConstants::NONE,
        contour: None,
        recording: Recording::Straight,
    }
}

const THICKNESS: Losses = Losses {
    coating_um: 15.0,
    ..Losses::NONE
};
const SPACING: Losses = Losses {
    spacing_um: 1.0,
    ..Losses::NONE
};
const GAP: Losses = Losses {
    gap_um: 6.35,
    ..Losses::NONE
};
const ERASURE: Losses = Losses {
    erasure_um: 2.1,
    ..Losses::NONE
};

/// Closed forms written out once more: 20 log of each, of wavelength in micrometres.
const THICKNESS_DB: fn(f64) -> f64 = |w| {
    let x = std::f64::consts::TAU * 15.0 / w;
    20.0 * ((1.0 - (-x).exp()) / x).log10()
};
const SPACING_DB: fn(f64) -> f64 = |w| -54.575 / w;
const GAP_DB: fn(f64) -> f64 = |w| {
    let x = std::f64::consts::PI * 6.35 * 1.11 / w;
    20.0 * (x.sin() / x).abs().log10()
};
const ERASURE_DB: fn(f64) -> f64 = |w| -54.575 * 2.1 / w;

/// Largest error of one loss at all speeds, dB, and the figure it was found at.
fn worst_of(
    rate: f64,
    machine: fn(TapeSpeed, Equalisation) -> Machine,
    want_db: fn(f64) -> f64,
) -> f64 {
    let bench = Bench::new(rate).with(machine);
    let mut worst = 0.0f64;
    for speed in TapeSpeed::ALL {
        for hz in TEN_HZ {
            let want = want_db(speed.metres_a_second() / hz * 1e6);
            // Near the gap's null (at 27 kHz for 19 cm/s) the loss is steep; it is still asked for.
            let got = bench.gain_db(hz, &at(speed, Equalisation::Iec));
            worst = worst.max((got - want).abs());
        }
    }
    worst
}

#[test]
fn each_loss_alone_has_its_closed_form() {
    for rate in [44_100.0, 48_000.0, 96_000.0] {
        let thickness = worst_of(rate, |s, _| only(THICKNESS, s), THICKNESS_DB);
        let spacing = worst_of(rate, |s, _| only(SPACING, s), SPACING_DB);
        let gap = worst_of(rate, |s, _| only(GAP, s), GAP_DB);
        let erasure = worst_of(rate, |s, _| only(ERASURE, s), ERASURE_DB);
        println!(
            "losses at {rate} Hz, ten frequencies, three speeds: thickness {thickness:.4}, spacing {spacing:.4}, gap {gap:.4}, \
             erasure {erasure:.4} dB off"
        );
        for (name, worst) in [
            ("thickness", thickness),
            ("spacing", spacing),
            ("gap", gap),
            ("erasure", erasure),
        ] {
            assert_below(&format!("{rate} Hz, {name}"), worst, 0.1);
        }
    }
}

#[test]
fn a_loss_of_the_wrong_sign_is_seen() {
    // Self-test: a gain with wavelength in place of a loss.
    let wrong = |s: TapeSpeed, _: Equalisation| {
        let losses = Losses {
            spacing_um: -1.0,
            ..Losses::NONE
        };
        only(losses, s)
    };
    assert!(worst_of(48_000.0, wrong, SPACING_DB) > 1.0);
}

#[test]
fn losses_at_published_points() {
    // Wallace's formulas at 38.1 cm/s and 10 kHz: spacing 1 µm, thickness 15 µm, gap 3 µm (times 1.11).
    let wavelength = 38.1;
    let db = |losses: Losses| 20.0 * losses.amplitude(wavelength).log10();
    assert_near("spacing", db(SPACING), -1.43, 0.005);
    assert_near("thickness", db(THICKNESS), -8.63, 0.005);
    let gap = Losses {
        gap_um: 3.0,
        ..Losses::NONE
    };
    assert_near("gap", db(gap), -0.11, 0.005);
}

fn without_contour(speed: TapeSpeed, equalisation: Equalisation) -> Machine {
    Machine {
        contour: None,
        ..Machine::lined_up(speed, equalisation)
    }
}

fn without_pre_emphasis(speed: TapeSpeed, equalisation: Equalisation) -> Machine {
    Machine {
        recording: Recording::Straight,
        ..without_contour(speed, equalisation)
    }
}

/// Largest deviation from 1 kHz of a machine, dB.
fn unevenness(
    rate: f64,
    machine: fn(TapeSpeed, Equalisation) -> Machine,
    settings: &PrintSettings,
) -> f64 {
    let bench = Bench::new(rate).with(machine);
    let middle = bench.gain_db(1000.0, settings);
    let errors = FLAT_HZ.map(|hz| (bench.gain_db(hz, settings) - middle).abs());
    errors.into_iter().fold(0.0, f64::max)
}

#[test]
fn a_lined_up_machine_is_flat() {
    for rate in [44_100.0, 48_000.0, 96_000.0, 192_000.0] {
        for equalisation in Equalisation::ALL {
            let settings = at(TapeSpeed::Cm38, equalisation);
            let worst = unevenness(rate, without_contour, &settings);
            println!(
                "38 cm/s {equalisation:?} at {rate} Hz, -20 dB, 40 Hz to 15 kHz: within {worst:.3} dB"
            );
            assert_below(&format!("{rate} Hz, {equalisation:?}"), worst, 0.5);
        }
    }
}

#[test]
fn missing_pre_emphasis_is_seen() {
    let settings = at(TapeSpeed::Cm38, Equalisation::Iec);
    assert!(unevenness(48_000.0, without_pre_emphasis, &settings) > 1.0);
}

#[test]
fn the_whole_print_has_the_response_that_the_window_draws() {
    for (speed, equalisation) in COLUMNS {
        let settings = at(speed, equalisation);
        let bench = Bench::new(48_000.0);
        let mut worst = 0.0f64;
        for hz in [20.0, 30.0].into_iter().chain(FLAT_HZ) {
            let want = response_db(&settings, hz);
            worst = worst.max((bench.gain_db(hz, &settings) - want).abs());
        }
        println!(
            "{speed:?} {equalisation:?}: within {worst:.3} dB of the closed form, 20 Hz to 15 kHz"
        );
        // Saturation at -20 dB takes a little; the rest is the filters' error.
        assert_below(&format!("{speed:?} {equalisation:?}"), worst, 0.1);
    }
}

#[test]
fn the_bump_goes_with_the_speed() {
    for (speed, hz) in [
        (TapeSpeed::Cm19, 30.0),
        (TapeSpeed::Cm38, 60.0),
        (TapeSpeed::Cm76, 120.0),
    ] {
        let contour = Contour::at(speed.metres_a_second());
        assert_near(&format!("{speed:?}"), contour.bump_hz, hz, 1e-9);
        assert!(contour.db(hz) > 1.0 && contour.db(hz / 4.0) < -6.0);
    }
}
