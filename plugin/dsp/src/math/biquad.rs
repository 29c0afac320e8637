//! Second-order Butterworth filters for the level curves.

/// Second order, direct form I, Butterworth, bilinear.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Biquad {
    forward: [f64; 3],
    back: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Biquad {
    pub(crate) fn high_pass(hz: f64, rate: f64) -> Self {
        let w = (std::f64::consts::PI * hz / rate).tan();
        Self::normalised([1.0, -2.0, 1.0], w)
    }

    pub(crate) fn low_pass(hz: f64, rate: f64) -> Self {
        let w = (std::f64::consts::PI * hz / rate).tan();
        Self::normalised([w * w, 2.0 * w * w, w * w], w)
    }

    fn normalised(forward: [f64; 3], w: f64) -> Self {
        let a0 = 1.0 + std::f64::consts::SQRT_2 * w + w * w;
        let back = [
            2.0 * (w * w - 1.0) / a0,
            (1.0 - std::f64::consts::SQRT_2 * w + w * w) / a0,
        ];
        Self {
            forward: forward.map(|b| b / a0),
            back,
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    pub(crate) fn next(&mut self, x: f64) -> f64 {
        let [b0, b1, b2] = self.forward;
        let y = b0 * x + b1 * self.x[0] + b2 * self.x[1]
            - self.back[0] * self.y[0]
            - self.back[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}
