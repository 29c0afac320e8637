//! What the coating keeps of a field: the anhysteretic curve of a biased medium, Langevin's function.

use crate::math::widest::{Arithmetic, Work, run_widest};

/// Field at which Langevin's argument is 1, in peaks of a sine at 320 nWb/m, as the flux it would leave without saturation.
/// Set so that 1 kHz at 38 cm/s plays with 3 % third harmonic at [`MOL_DB`].
pub const SATURATION: f64 = 2.557;
/// Level of 3 % third harmonic at 1 kHz and 38 cm/s, dB over 320 nWb/m: 1000 nWb/m, within the 9 to 12 dB of data sheets
/// of mastering tape.
pub const MOL_DB: f64 = 9.897;

/// Past this argument coth h is 1 to single precision.
const FAR: f32 = 8.0;
/// No field is stronger: squares and cubes of it stay in range.
const STRONGEST: f32 = 1e5;
/// A weaker field (-300 dB) has this one's square, which adds nothing to 1, and weaker flux is none: the square, or a later product
/// with a filter's tap, would be subnormal.
const WEAKEST: f32 = 1e-15;
/// L(h) / h = N(h²) / D(h²), lowest first: least error relative to L up to [`FAR`], 3e-7; `tests/reference/print.py` has
/// the exact function beside it.
const ABOVE: [f32; 4] = [0.333_333_28, 0.021_008_432, 0.000_233_038_3, 2.600_877e-7];
const BELOW: [f32; 4] = [1.0, 0.129_691_2, 0.002_996_518, 1.189_046_2e-5];

/// L(h) = coth h - 1/h, exact.
pub fn langevin(h: f64) -> f64 {
    match h.abs() {
        // The series avoids a difference of large numbers; its next term is below 1e-13.
        ..0.02 => h / 3.0 - h.powi(3) / 45.0 + 2.0 * h.powi(5) / 945.0,
        ..300.0 => 1.0 / h.tanh() - 1.0 / h,
        _ => h.signum() - 1.0 / h,
    }
}

/// Turns `field` into flux in place: `back` · L(`drive` · field), sample by sample; slices of one length.
pub fn magnetise(field: &mut [f32], drive: &[f32], back: &[f32]) {
    run_widest(Magnetise { field, drive, back });
}

struct Magnetise<'a> {
    field: &'a mut [f32],
    drive: &'a [f32],
    back: &'a [f32],
}

impl Work for Magnetise<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let gains = self.drive.iter().zip(self.back);
        for (x, (drive, back)) in self.field.iter_mut().zip(gains) {
            let flux = fast_langevin::<A>(*x * drive) * back;
            *x = if flux.abs() > WEAKEST { flux } else { 0.0 };
        }
    }
}

/// One division whichever side of [`FAR`]: 1 - 1/|h| there is h (|h| - 1) / h².
#[inline(always)]
fn fast_langevin<A: Arithmetic>(h: f32) -> f32 {
    let h = h.clamp(-STRONGEST, STRONGEST);
    let size = h.abs().max(WEAKEST);
    let square = size * size;
    let polynomial =
        |[a, b, c, d]: [f32; 4]| A::add(a, square, A::add(b, square, A::add(c, square, d)));
    let far = size > FAR;
    let above = h * if far { size - 1.0 } else { polynomial(ABOVE) };
    let below = if far { square } else { polynomial(BELOW) };
    above / below
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::widest::Fused;

    #[test]
    fn the_fast_curve_is_langevins() {
        for n in -20_000..20_000 {
            let h = f64::from(n) * 0.001_3;
            let mut x = [h as f32];
            magnetise(&mut x, &[1.0], &[1.0]);
            let error = (f64::from(x[0]) - langevin(f64::from(h as f32))).abs();
            assert!(error < 6e-7, "{h}: {error}");
        }
    }

    /// The curve itself, without the floor under it.
    fn curve(h: f32) -> f32 {
        fast_langevin::<Fused>(h)
    }

    #[test]
    fn it_is_odd_and_bounded() {
        let magnetised = |h: f32| {
            let mut x = [h];
            magnetise(&mut x, &[1.0], &[1.0]);
            x[0]
        };
        for h in [1e-30f32, 1e-14, 1e-3, 1.0, 7.999, 8.001, 1e4, 1e30] {
            let x = curve(h);
            assert_eq!(x, -curve(-h), "{h}");
            assert!(x > 0.0 && x <= 1.0, "{h}: {x}");
            assert_eq!(magnetised(h), -magnetised(-h), "{h}");
            assert_eq!(magnetised(h) > 0.0, x > WEAKEST, "{h}");
        }
    }
}
