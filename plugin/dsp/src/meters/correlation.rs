//! How alike two channels are, from -1 to +1: over a stretch of samples, and as a running meter.

/// Below this mean power (-60 dB full scale) the meter falls to zero instead of showing noise. Common practice, no
/// source; no standard fixes it.
const GATE_POWER: f64 = 1e-6;

/// Powers of two channels and what they share, over the same samples.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Powers {
    /// Sum or mean of first².
    pub first: f64,
    /// Sum or mean of second².
    pub second: f64,
    /// Sum or mean of first · second.
    pub shared: f64,
}

impl Powers {
    /// Sums over all samples of two channels of one length.
    pub fn of(first: &[f32], second: &[f32]) -> Self {
        let mut sums = Self::default();
        for (&a, &b) in first.iter().zip(second) {
            let (a, b) = (f64::from(a), f64::from(b));
            sums.first += a * a;
            sums.second += b * b;
            sums.shared += a * b;
        }
        sums
    }

    /// Correlation at lag 0; 0 when a channel is silent.
    pub fn correlation(&self) -> f64 {
        self.correlation_above(0.0)
    }

    fn correlation_above(&self, floor: f64) -> f64 {
        let both = (self.first * self.second).sqrt().max(floor);
        if both > 0.0 { self.shared / both } else { 0.0 }
    }
}

/// Correlation at lag 0 of two stretches of one length; 0 when one is silent.
pub fn correlation(first: &[f32], second: &[f32]) -> f64 {
    Powers::of(first, second).correlation()
}

/// A running correlation over an exponential window; no standard fixes its time, 0.6 s is usual (0.1 s for fast).
#[derive(Clone, Debug)]
pub struct CorrelationMeter {
    /// Part of a new sample that joins the mean.
    weight: f64,
    means: Powers,
}

impl CorrelationMeter {
    /// A window of `seconds` (time constant).
    pub fn new(seconds: f64, sample_rate: f64) -> Self {
        Self {
            weight: 1.0 - (-1.0 / (seconds * sample_rate).max(1.0)).exp(),
            means: Powers::default(),
        }
    }

    /// Forgets all.
    pub fn reset(&mut self) {
        self.means = Powers::default();
    }

    /// Takes the next samples of both channels; what is no number is silence.
    pub fn push(&mut self, first: &[f32], second: &[f32]) {
        for (&a, &b) in first.iter().zip(second) {
            let (a, b) = (finite(a), finite(b));
            self.means.first += self.weight * (a * a - self.means.first);
            self.means.second += self.weight * (b * b - self.means.second);
            self.means.shared += self.weight * (a * b - self.means.shared);
        }
        self.drop_what_is_inaudible();
    }

    /// Long silence would bring the means to subnormal numbers.
    fn drop_what_is_inaudible(&mut self) {
        if self.means.first.max(self.means.second) < 1e-60 {
            self.means = Powers::default();
        }
    }

    /// -1 to +1; 0 for silence or a missing channel.
    pub fn reading(&self) -> f64 {
        self.means.correlation_above(GATE_POWER).clamp(-1.0, 1.0)
    }

    /// Mean powers behind the reading.
    pub fn powers(&self) -> Powers {
        self.means
    }
}

fn finite(sample: f32) -> f64 {
    if sample.is_finite() {
        f64::from(sample)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_after_a_signal_falls_to_zero() {
        let mut meter = CorrelationMeter::new(0.1, 8_000.0);
        meter.push(&[0.5; 8000], &[0.5; 8000]);
        assert!(meter.reading() > 0.999);
        meter.push(&[0.0; 16000], &[0.0; 16000]);
        assert!(meter.reading() < 0.01);
        for _ in 0..100 {
            meter.push(&[0.0; 16000], &[0.0; 16000]);
        }
        assert_eq!(meter.powers(), Powers::default());
    }

    #[test]
    fn not_numbers_do_not_stick() {
        let mut meter = CorrelationMeter::new(0.1, 8_000.0);
        meter.push(&[f32::NAN, f32::INFINITY], &[1.0, 1.0]);
        meter.push(&[0.5; 800], &[-0.5; 800]);
        assert!(meter.reading() < -0.9);
    }
}
