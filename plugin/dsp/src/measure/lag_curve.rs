//! The correlation of a pair over the lags around zero, as a drawing needs it.

/// Lags drawn.
pub const POINTS: usize = 385;
/// Farthest lag drawn, seconds, to both sides.
pub const REACH_S: f64 = 0.003;

/// How alike the pair is at each lag from -3 ms (second earlier) to +3 ms, -1 to 1; all zero before the first hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagCurve {
    /// Of the first wavefronts: peaks at the Attack gap.
    pub fronts: [f32; POINTS],
    /// Of the first 40 ms: peaks at the Body gap.
    pub body: [f32; POINTS],
}

impl LagCurve {
    /// Nothing heard.
    pub const EMPTY: Self = Self {
        fronts: [0.0; POINTS],
        body: [0.0; POINTS],
    };

    /// The lag of a point, seconds, positive: second later.
    pub fn lag_s(point: usize) -> f64 {
        REACH_S * (2.0 * point as f64 / (POINTS - 1) as f64 - 1.0)
    }
}
