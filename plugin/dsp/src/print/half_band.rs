//! Half-band interpolators: the value midway between two samples, by as few taps as the rate's band allows.

/// For rates below 48 kHz: 100 dB up to 0.4535 of the rate, 20 kHz at 44.1 kHz. First half of the symmetric taps; all by
/// Parks and McClellan's exchange, for one band as Vaidyanathan and Nguyen have it ("A trick for the design of FIR
/// half-band filters", IEEE Trans. CAS 34(3), 1987, from memory). `tests/reference/print.py` designs them again.
const LONG: [f32; 35] = [
    1.193970669e-05,
    -2.128867414e-05,
    3.966946902e-05,
    -6.790089339e-05,
    1.094665580e-04,
    -1.686338258e-04,
    2.505416180e-04,
    -3.612856963e-04,
    5.079933380e-04,
    -6.989065435e-04,
    9.434575142e-04,
    -1.252345540e-03,
    1.637630195e-03,
    -2.112842024e-03,
    2.693125542e-03,
    -3.395446793e-03,
    4.238895429e-03,
    -5.245122216e-03,
    6.438987976e-03,
    -7.849533427e-03,
    9.511424610e-03,
    -1.146712640e-02,
    1.377022298e-02,
    -1.649057843e-02,
    1.972255069e-02,
    -2.359850264e-02,
    2.831195751e-02,
    -3.415936254e-02,
    4.162045923e-02,
    -5.152635790e-02,
    6.545168172e-02,
    -8.677882304e-02,
    1.243161185e-01,
    -2.103880803e-01,
    6.360060143e-01,
];

/// From 48 kHz: 102 dB up to 20 kHz there.
const MIDDLE: [f32; 20] = [
    -1.971699447e-05,
    6.282064460e-05,
    -1.573464538e-04,
    3.376550349e-04,
    -6.532401284e-04,
    1.170635427e-03,
    -1.975921603e-03,
    3.177240767e-03,
    -4.907872599e-03,
    7.331071780e-03,
    -1.064904982e-02,
    1.512075750e-02,
    -2.109789247e-02,
    2.909968483e-02,
    -3.997617297e-02,
    5.529689706e-02,
    -7.841353071e-02,
    1.180786132e-01,
    -2.065387675e-01,
    6.347141349e-01,
];

/// From 88.2 kHz: 107 dB up to 20.5 kHz there.
const SHORT: [f32; 6] = [
    -5.429686793e-04,
    4.310918786e-03,
    -1.858806348e-02,
    5.846727885e-02,
    -1.614242428e-01,
    6.177770774e-01,
];

/// From 176.4 kHz: 92 dB up to 20.5 kHz there.
const SHORTER: [f32; 3] = [1.385_990_7e-2, -1.036_509_1e-1, 5.897_910_1e-1];

/// From 352.8 kHz: 86 dB up to 20.5 kHz there, where nothing is left but harmonics past the twentieth.
const SHORTEST: [f32; 2] = [-6.408_844_8e-2, 5.640_884_5e-1];

/// The first half of the taps that double the rate for the (`stage` + 1)th time, oldest first. A later stage has the band
/// of a first one at twice the rate.
pub fn half_of_taps(sample_rate: f64, stage: usize) -> &'static [f32] {
    let first = match sample_rate {
        ..88_200.0 => 0,
        ..176_400.0 => 1,
        ..352_800.0 => 2,
        _ => 3,
    };
    match first + stage {
        0 if sample_rate < 48_000.0 => &LONG,
        0 => &MIDDLE,
        1 => &SHORT,
        2 => &SHORTER,
        _ => &SHORTEST,
    }
}

/// All taps, `scale` times as large.
pub fn taps(half: &[f32], scale: f32) -> Vec<f32> {
    let mirrored = half.iter().chain(half.iter().rev());
    mirrored.map(|tap| scale * tap).collect()
}
