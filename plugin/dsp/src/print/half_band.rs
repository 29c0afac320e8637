//! Half-band interpolators: the value midway between two samples, by as few taps as the rate's band allows.

/// For rates below 48 kHz: 100 dB up to 0.4535 of the rate, 20 kHz at 44.1 kHz. First half of the symmetric taps; all by
/// Parks and McClellan's exchange, for one band as Vaidyanathan and Nguyen have it ("A trick for the design of FIR
/// half-band filters", IEEE Trans. CAS 34(3), 1987, from memory). `tests/reference/print.py` designs them again.
const LONG: [f32; 35] = [
    1.193_970_6e-5,
    -2.128_867_3e-5,
    3.966_947e-5,
    -6.790_089_5e-5,
    1.094_665_6e-4,
    -1.686_338_2e-4,
    2.505_416e-4,
    -3.612_857e-4,
    5.079_933_3e-4,
    -6.989_065_4e-4,
    9.434_575_3e-4,
    -1.252_345_5e-3,
    1.637_630_2e-3,
    -2.112_842e-3,
    2.693_125_5e-3,
    -3.395_446_8e-3,
    4.238_895_6e-3,
    -5.245_122e-3,
    6.438_988e-3,
    -7.849_533e-3,
    9.511_424e-3,
    -1.146_712_6e-2,
    1.377_022_3e-2,
    -1.649_057_9e-2,
    1.972_255_1e-2,
    -2.359_850_3e-2,
    2.831_195_7e-2,
    -3.415_936_2e-2,
    4.162_046e-2,
    -5.152_635_6e-2,
    6.545_168e-2,
    -8.677_882e-2,
    1.243_161_2e-1,
    -2.103_880_8e-1,
    6.360_06e-1,
];

/// From 48 kHz: 102 dB up to 20 kHz there.
const MIDDLE: [f32; 20] = [
    -1.971_699_4e-5,
    6.282_065e-5,
    -1.573_464_5e-4,
    3.376_550_4e-4,
    -6.532_401_3e-4,
    1.170_635_5e-3,
    -1.975_921_7e-3,
    3.177_240_7e-3,
    -4.907_872_5e-3,
    7.331_072e-3,
    -1.064_905e-2,
    1.512_075_8e-2,
    -2.109_789_3e-2,
    2.909_968_4e-2,
    -3.997_617_2e-2,
    5.529_689_8e-2,
    -7.841_353e-2,
    1.180_786_1e-1,
    -2.065_387_7e-1,
    6.347_141e-1,
];

/// From 88.2 kHz: 107 dB up to 20.5 kHz there.
const SHORT: [f32; 6] = [
    -5.429_687e-4,
    4.310_919e-3,
    -1.858_806_4e-2,
    5.846_728e-2,
    -1.614_242_5e-1,
    6.177_770_5e-1,
];

/// From 176.4 kHz: 92 dB up to 20.5 kHz there.
const SHORTER: [f32; 3] = [1.385_990_7e-2, -1.036_509_1e-1, 5.897_91e-1];

/// From 352.8 kHz: 86 dB up to 20.5 kHz there, where nothing is left but harmonics past the twentieth.
const SHORTEST: [f32; 2] = [-6.408_845e-2, 5.640_884_6e-1];

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
