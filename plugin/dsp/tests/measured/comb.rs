//! The comb's closed forms against published values and against two signals really added.

use plumbline_dsp::delay::align::{Align, AlignSetup, ChannelShift};
use plumbline_dsp::meters::comb::{Comb, Copied};

use crate::support::{assert_below, assert_near, db, sine, write_csv};

fn copy(delay_ms: f64, level_db: f64) -> Comb {
    Comb {
        level: 10f64.powf(level_db / 20.0),
        ..Comb::equal(delay_ms / 1000.0)
    }
}

#[test]
fn nulls_and_peaks_of_equal_copies() {
    // ms; first notch, second notch, spacing in Hz: Everest & Pohlmann, "Master Handbook of Acoustics", chapter 10
    // (the rows of 0.1 and 1 ms printed there, the others computed from its formulas).
    let table = [
        (0.1, 5000.0, 15000.0, 10000.0),
        (0.5, 1000.0, 3000.0, 2000.0),
        (1.0, 500.0, 1500.0, 1000.0),
        (5.0, 100.0, 300.0, 200.0),
        (20.0, 25.0, 75.0, 50.0),
    ];
    for (ms, first, second, spacing) in table {
        let comb = copy(ms, 0.0);
        let case = format!("{ms} ms");
        assert_near(&case, comb.notch_hz(0), first, 1e-9 * first);
        assert_near(&case, comb.notch_hz(1), second, 1e-9 * second);
        assert_near(&case, comb.peak_hz(1), spacing, 1e-9 * spacing);
        assert_near(&case, db(comb.magnitude(comb.peak_hz(1))), 6.02, 0.05);
        assert_below(&case, db(comb.magnitude(comb.notch_hz(0))), -60.0);
    }
    let inverted = Comb {
        copied: Copied::Inverted,
        ..copy(1.0, 0.0)
    };
    assert_eq!(inverted.notch_hz(0), 0.0);
    assert_near("inverted, notch", inverted.notch_hz(1), 1000.0, 1e-9);
    assert_near("inverted, peak", inverted.peak_hz(0), 500.0, 1e-9);
    assert_below("inverted at 0 Hz", db(inverted.magnitude(0.0)), -300.0);
}

#[test]
fn level_difference_fills_the_nulls() {
    // Level of the copy, peak, notch, ripple in dB: computed from 20 log (1 ± a).
    let table = [
        (-1.0, 5.53, -19.27, 24.8),
        (-3.0, 4.65, -10.69, 15.3),
        (-6.0, 3.53, -6.04, 9.57),
        (-9.0, 2.64, -3.81, 6.44),
        (-9.54, 2.50, -3.52, 6.02),
        (-10.0, 2.39, -3.30, 5.69),
        (-20.0, 0.83, -0.92, 1.74),
    ];
    for (level, peak, notch, ripple) in table {
        let comb = copy(1.0, level);
        let case = format!("copy at {level} dB");
        assert_near(&case, comb.peak_db(), peak, 0.01);
        assert_near(&case, comb.notch_db(), notch, 0.01);
        assert_near(&case, comb.ripple_db(), ripple, 0.05);
        assert_near(&case, db(comb.magnitude(1000.0)), comb.peak_db(), 1e-9);
        assert_near(&case, db(comb.magnitude(500.0)), comb.notch_db(), 1e-9);
    }
}

/// Level in dB of one channel plus the other when the second is held back by `delay_s`, for a sine.
fn summed_db(hz: f64, delay_s: f64, sample_rate: f64) -> f64 {
    let mut align = Align::new(AlignSetup {
        sample_rate,
        channels: 2,
        reach_s: 0.0,
    });
    let held_back = ChannelShift {
        shift_samples: delay_s * sample_rate,
        inverted: false,
    };
    align.set_shifts(&[ChannelShift::default(), held_back]);
    align.reset();
    let mut first = sine(hz, sample_rate, 16_384);
    let mut second = first.clone();
    align.process(&mut [&mut first, &mut second]);
    let sum = first.iter().zip(&second).skip(8192);
    let power: f64 = sum.map(|(a, b)| f64::from(a + b).powi(2)).sum();
    db((power / 8192.0 * 2.0).sqrt())
}

#[test]
fn two_channels_really_added_make_the_closed_form() {
    let mut rows = Vec::new();
    for (delay_ms, sample_rate) in [(1.0, 44_100.0), (0.29136, 48_000.0), (0.5, 96_000.0)] {
        let comb = copy(delay_ms, 0.0);
        for step in 1..200 {
            // Whole periods in the 8192 samples that are measured.
            let hz =
                (f64::from(step) * 100.0 * 8192.0 / sample_rate).round() * sample_rate / 8192.0;
            let got = summed_db(hz, delay_ms / 1000.0, sample_rate);
            let want = db(comb.magnitude(hz));
            rows.push(vec![delay_ms, sample_rate, hz, want, got]);
            let case = format!("{delay_ms} ms at {sample_rate} Hz, tone of {hz} Hz");
            let (got, want) = (10f64.powf(got / 20.0), 10f64.powf(want / 20.0));
            assert_near(&case, got, want, 5e-6);
        }
        let notch = summed_db(comb.notch_hz(0).round(), delay_ms / 1000.0, sample_rate);
        assert_below("first notch", notch, -45.0);
    }
    let notch = summed_db(500.0, 0.001, 44_100.0);
    assert_below(
        "notch of 1 ms at 44.1 kHz (44.1 samples), dB",
        notch,
        -100.0,
    );
    write_csv(
        "comb",
        "delay_ms,sample_rate,hz,closed_form_db,summed_db",
        &rows,
    );
}
