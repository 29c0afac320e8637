//! What the mono sum of one drum loses for any gap that is taken out: a fixed-size curve, as a drawing and a session need it.

use crate::measurement::{MAX_DRUMS, Polarity};

/// Points of a curve: 40 kHz, six and a half points a period at the 6 kHz up to which a drum's body is heard.
pub const POINTS: usize = 361;
/// Farthest gap, seconds, to both sides: 1.5 m of air.
pub const REACH_S: f64 = 0.0045;
/// A sum that is gone.
const FLOOR_DB: f64 = -60.0;

/// One drum's mean stroke in both channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrumSum {
    /// Energy of the first channel over that of both, 0 to 1.
    pub first_part: f32,
    /// Cross-correlation of both at each gap from -4.5 ms (second earlier) to +4.5 ms, over the energy of both.
    pub shared: [f32; POINTS],
}

/// One curve for each of a measurement's drums, in their order; `None` where nothing was heard.
pub type DrumSums = [Option<DrumSum>; MAX_DRUMS];

impl DrumSum {
    /// The gap of a point, seconds.
    pub fn gap_s(point: usize) -> f64 {
        REACH_S * (2.0 * point as f64 / (POINTS - 1) as f64 - 1.0)
    }

    /// Loss of the mono sum when the second is taken `gap_s` earlier, dB against both channels in time, 0 or less; it is
    /// reversed as well where it is `Inverted`. `None` beyond the curve.
    pub fn loss_db(&self, gap_s: f64, second: Polarity) -> Option<f64> {
        let shared = f64::from(self.shared_at(gap_s)?);
        let sign = if second == Polarity::Inverted {
            -1.0
        } else {
            1.0
        };
        let first = f64::from(self.first_part).clamp(0.0, 1.0);
        let coherent = 1.0 + 2.0 * (first * (1.0 - first)).sqrt();
        let loss = (1.0 + 2.0 * sign * shared) / coherent;
        Some((10.0 * loss.max(1e-12).log10()).clamp(FLOOR_DB, 0.0))
    }

    /// A cubic through the four nearest points (Catmull and Rom 1974).
    fn shared_at(&self, gap_s: f64) -> Option<f32> {
        let place = (gap_s / REACH_S + 1.0) * 0.5 * (POINTS - 1) as f64;
        let inside = (0.0..=(POINTS - 1) as f64).contains(&place);
        let whole = (place as usize).min(POINTS - 2);
        let x = inside.then_some(place - whole as f64)? as f32;
        let point = |n: usize| self.shared[n.clamp(1, POINTS) - 1];
        let [a, b, c, d] = [whole, whole + 1, whole + 2, whole + 3].map(point);
        let slopes = [0.5 * (c - a), 0.5 * (d - b)];
        let rise = c - b;
        let square = 3.0 * rise - 2.0 * slopes[0] - slopes[1];
        let cube = slopes[0] + slopes[1] - 2.0 * rise;
        Some(b + x * (slopes[0] + x * (square + x * cube)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// A tone of 1 kHz in both channels, equally loud, the second `gap_s` later.
    fn tone(gap_s: f64) -> DrumSum {
        let shared = std::array::from_fn(|point| {
            let apart = DrumSum::gap_s(point) - gap_s;
            (0.5 * (TAU * 1_000.0 * apart).cos()) as f32
        });
        DrumSum {
            first_part: 0.5,
            shared,
        }
    }

    #[test]
    fn a_tone_loses_what_its_phase_says() {
        let tone = tone(0.00031);
        for gap_ms in [-4.4999, -1.0, 0.0, 0.2, 0.31, 0.4567, 4.4999] {
            let gap_s: f64 = gap_ms * 1e-3;
            let phase = TAU * 1_000.0 * (gap_s - 0.00031);
            let want = (10.0 * (0.5 + 0.5 * phase.cos()).max(1e-12).log10()).max(FLOOR_DB);
            let got = tone.loss_db(gap_s, Polarity::Same).unwrap();
            assert!(
                (got - want).abs() < 0.02,
                "{gap_ms} ms: {got} instead of {want} dB"
            );
            let turned = tone.loss_db(gap_s - 0.0005, Polarity::Inverted);
            if let Some(turned) = turned {
                assert!(
                    (turned - want).abs() < 0.02,
                    "reversed at {gap_ms} ms: {turned}"
                );
            }
        }
        assert_eq!(tone.loss_db(0.0046, Polarity::Same), None);
        assert_eq!(tone.loss_db(f64::NAN, Polarity::Same), None);
    }
}
