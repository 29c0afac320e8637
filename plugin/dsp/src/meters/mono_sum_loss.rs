//! What the mono sum of a pair loses against a pair that stands together, and the third octaves in which it is told.

use crate::meters::correlation::Powers;

/// A sum that is gone; also keeps every reading finite.
pub const FLOOR_DB: f64 = -120.0;
/// Third octaves from 31.5 Hz, where a kick lies, to 5 kHz, where a thin sum is heard.
pub const BANDS: usize = 23;
/// Place of the 100 Hz band: a snare's body begins here.
pub const BODY_BAND: usize = 5;
/// Number of the 31.5 Hz band: centres are 1000 · 10^(n/10) Hz (IEC 61260-1:2014, 5.2 and 5.4).
const LOWEST_BAND: i32 = -15;
/// Half a third octave as a ratio, 10^0.05 (IEC 61260-1:2014, 5.5).
const HALF_BAND: f64 = 1.122_018_454_301_963_3;

/// Loss of the mono sum against the coherent sum of the same channels, dB, 0 down:
/// 10 log (P₁ + P₂ + 2 shared) / (√P₁ + √P₂)² (Everest & Pohlmann, Master Handbook of Acoustics, ch. 10: the sum of two copies
/// against twice one copy). Silence loses nothing.
pub fn mono_sum_loss_db(powers: Powers) -> f64 {
    let coherent = (powers.first.sqrt() + powers.second.sqrt()).powi(2);
    if coherent > 0.0 {
        (10.0 * (powers.sum() / coherent).log10()).clamp(FLOOR_DB, 0.0)
    } else {
        0.0
    }
}

/// Centre of band `index` (0 to `BANDS` - 1), exact, in hertz.
pub fn band_hz(index: usize) -> f64 {
    1000.0 * 10f64.powf(f64::from(LOWEST_BAND + index as i32) / 10.0)
}

/// Lower and upper edge of band `index`, hertz.
pub fn band_edges_hz(index: usize) -> [f64; 2] {
    let centre = band_hz(index);
    [centre / HALF_BAND, centre * HALF_BAND]
}
