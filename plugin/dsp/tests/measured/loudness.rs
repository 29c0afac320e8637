//! Loudness against the published check signals.

use plumbline_dsp::meters::loudness::loudness_lkfs;

use crate::support::{assert_near, sine};

/// Peak in dBFS and seconds.
type Steps<'a> = &'a [(f64, f64)];

/// A 1 kHz sine whose level follows `plan`.
fn steps(plan: Steps<'_>, sample_rate: f64) -> Vec<f32> {
    let level = |&(db, seconds): &(f64, f64)| {
        let amplitude = 10f64.powf(db / 20.0) as f32;
        std::iter::repeat_n(amplitude, (seconds * sample_rate) as usize)
    };
    let levels: Vec<f32> = plan.iter().flat_map(level).collect();
    let tone = sine(1000.0, sample_rate, levels.len());
    tone.iter()
        .zip(levels)
        .map(|(x, level)| x * level)
        .collect()
}

#[test]
fn full_scale_997_hz_in_one_channel() {
    // ITU-R BS.1770-4, annex 1: -3.01 LKFS; its filters are given for 48 kHz only. Elsewhere a bilinear filter bends a
    // little differently: within 0.1 LU, the tolerance of EBU Tech 3341.
    for (rate, tolerance) in [
        (48_000.0, 0.02),
        (44_100.0, 0.1),
        (96_000.0, 0.1),
        (192_000.0, 0.1),
    ] {
        let tone = sine(997.0, rate, (4.0 * rate) as usize);
        let got = loudness_lkfs(&[&tone, &vec![0.0; tone.len()]], rate).expect("a loud tone");
        assert_near(&format!("{rate} Hz"), got, -3.01, tolerance);
    }
}

#[test]
fn integrated_loudness_test_signals() {
    // EBU Tech 3341, tests 1 to 4 (and 5, from memory): LUFS, within 0.1.
    let table: [(&str, Steps<'_>, f64); 5] = [
        ("1", &[(-23.0, 20.0)], -23.0),
        ("2", &[(-33.0, 20.0)], -33.0),
        ("3", &[(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
        (
            "4",
            &[
                (-72.0, 10.0),
                (-36.0, 10.0),
                (-23.0, 60.0),
                (-36.0, 10.0),
                (-72.0, 10.0),
            ],
            -23.0,
        ),
        ("5", &[(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),
    ];
    for (case, plan, want) in table {
        let tone = steps(plan, 48_000.0);
        let got = loudness_lkfs(&[&tone, &tone], 48_000.0).expect("a loud tone");
        assert_near(case, got, want, 0.1);
    }
}
