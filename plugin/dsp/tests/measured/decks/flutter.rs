//! Wow and flutter as an AES6 meter reads them.

use plumbline_dsp::decks::motion::{Curve, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::wobble::{WobbleAmounts, weighting_db};

use super::flutter_meter::{TONE_HZ, WEIGHTING, reading_percent};
use super::{RATE, Rig, cycle, moving_alone};
use crate::support::{assert_near, sine};

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
