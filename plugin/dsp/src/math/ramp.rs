//! A ramp from 0 to 1 over a fixed number of samples, without corners: the gain of a cross-fade.

/// A glide of this length hides any change of delay or polarity and is over before it is noticed. Common practice
/// of the trade, no source.
pub const GLIDE_S: f64 = 0.020;

/// Where a cross-fade stands.
#[derive(Clone, Copy, Debug)]
pub struct Ramp {
    /// Samples already taken.
    done: u32,
    /// Samples in the whole ramp, at least 1.
    length: u32,
}

impl Ramp {
    /// A finished ramp that will take `seconds` when started.
    pub fn new(seconds: f64, sample_rate: f64) -> Self {
        let length = (seconds * sample_rate).round().clamp(1.0, 1e9) as u32;
        Self {
            done: length,
            length,
        }
    }

    /// The next gains, at most as many as the array holds and as remain; `None` when it is finished.
    pub fn gains<const MOST: usize>(&mut self, count: usize) -> Option<[f32; MOST]> {
        if !self.is_running() {
            return None;
        }
        let mut gains = [1.0; MOST];
        for (gain, n) in gains[..count].iter_mut().zip(1..) {
            *gain = smooth(f64::from(self.done + n) / f64::from(self.length));
        }
        self.pass(count);
        Some(gains)
    }

    /// Goes past so many gains.
    pub fn pass(&mut self, count: usize) {
        self.done += count.min(self.remaining()) as u32;
    }

    /// Back to 0.
    pub fn start(&mut self) {
        self.done = 0;
    }

    /// Jumps to 1.
    pub fn finish(&mut self) {
        self.done = self.length;
    }

    /// True while below 1.
    pub fn is_running(&self) -> bool {
        self.done < self.length
    }

    /// Samples until it reaches 1.
    pub fn remaining(&self) -> usize {
        (self.length - self.done) as usize
    }

    /// The next gain, above 0; the last one of a ramp is exactly 1. Depends on the count of samples only.
    #[inline]
    pub fn step(&mut self) -> f32 {
        if !self.is_running() {
            return 1.0;
        }
        self.done += 1;
        smooth(f64::from(self.done) / f64::from(self.length))
    }
}

/// From 0 to 1 without corners, `t` of the way.
#[inline(always)]
fn smooth(t: f64) -> f32 {
    (t * t * (3.0 - 2.0 * t)) as f32
}

/// `now` moved towards `wanted` by at most `step`; arrives exactly.
pub fn toward(now: f64, wanted: f64, step: f64) -> f64 {
    if (wanted - now).abs() <= step {
        wanted
    } else {
        now + step * (wanted - now).signum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rises_to_exactly_one() {
        let mut ramp = Ramp::new(GLIDE_S, 48_000.0);
        assert!(!ramp.is_running());
        ramp.start();
        assert_eq!(ramp.remaining(), 960);
        let gains: Vec<f32> = (0..960).map(|_| ramp.step()).collect();
        assert!(gains.windows(2).all(|w| w[1] >= w[0]));
        assert_eq!(gains[959], 1.0);
        assert!(!ramp.is_running());
        assert_eq!(ramp.step(), 1.0);
    }
}
