//! A slew limiter with limited acceleration: follows a target exactly while that is slow enough, else as fast as allowed.

use super::values::Values;

/// Fastest change of an offset, seconds a second: the speed that a hand on the flange takes from a reel at most (1 to 5 %;
/// common practice, no source).
pub const FASTEST: f64 = 0.05;
/// Time to reach it from rest. Common practice, no source.
const SPEED_UP_S: f64 = 0.050;

/// Follows a target: while that moves no faster than `FASTEST` the value is the target, bit for bit.
#[derive(Clone, Debug)]
pub struct SlewLimiter {
    /// Greatest change in one sample: FASTEST / sample rate.
    most: f64,
    /// Greatest change of that change from one sample to the next.
    acceleration: f64,
    target: f64,
    value: f64,
    /// Change in the last sample.
    speed: f64,
}

impl SlewLimiter {
    /// At zero; `scale` is the target's unit: 1 for seconds.
    pub fn new(sample_rate: f64, scale: f64) -> Self {
        let most = FASTEST * scale / sample_rate;
        Self {
            most,
            acceleration: most / (SPEED_UP_S * sample_rate),
            target: 0.0,
            value: 0.0,
            speed: 0.0,
        }
    }

    /// At `target` and at rest.
    pub fn jump(&mut self, target: f64) {
        self.target = target;
        self.value = target;
        self.speed = 0.0;
    }

    /// Turns so many targets into values, in place.
    pub fn follow_all(&mut self, targets: &mut Values<f64>, count: usize) {
        let rests = self.value == self.target && self.speed == 0.0;
        let stays = match targets {
            Values::Resting(target) => *target == self.target,
            Values::Moving(targets) => targets[..count].iter().all(|to| *to == self.target),
        };
        if rests && stays {
            return;
        }
        for value in &mut targets.each()[..count] {
            *value = self.follow(*value);
        }
    }

    /// One sample later; returns the value.
    pub fn follow(&mut self, target: f64) -> f64 {
        let step = target - self.target;
        let was_equal = self.value == self.target;
        self.target = target;
        if was_equal && step.abs() <= self.most {
            self.value = target;
            self.speed = step;
        } else {
            self.chase(step);
        }
        self.value
    }

    /// As fast as allowed, slowing down in time to arrive at the target's own speed.
    fn chase(&mut self, step: f64) {
        let distance = self.target - self.value;
        // √(2 · a/2 · distance): half of the acceleration, so that the rounding to whole samples never overshoots.
        let braking = (self.acceleration * distance.abs()).sqrt() * distance.signum();
        let steady = if step.abs() <= self.most { step } else { 0.0 };
        let wanted = (steady + braking).clamp(-self.most, self.most);
        self.speed += (wanted - self.speed).clamp(-self.acceleration, self.acceleration);
        let left = distance - self.speed;
        if left * distance <= 0.0 || left.abs() <= self.acceleration {
            self.value = self.target;
        } else {
            self.value += self.speed;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    #[test]
    fn slower_than_a_reel_it_is_the_target() {
        let mut limiter = SlewLimiter::new(RATE, 1.0);
        for n in 0..10_000 {
            let target = 0.003 * (f64::from(n) / 3000.0).sin();
            assert_eq!(limiter.follow(target), target);
        }
    }

    #[test]
    fn a_jump_becomes_a_fast_reel_that_arrives_exactly() {
        for jump in [0.012, -0.024, 0.0003] {
            let mut limiter = SlewLimiter::new(RATE, 1.0);
            let values: Vec<f64> = (0..48_000).map(|_| limiter.follow(jump)).collect();
            let steps: Vec<f64> = values.windows(2).map(|w| w[1] - w[0]).collect();
            let fastest = steps.iter().fold(0.0f64, |a, b| a.max(b.abs()));
            let hardest = steps
                .windows(2)
                .fold(0.0f64, |a, w| a.max((w[1] - w[0]).abs()));
            assert!(fastest <= limiter.most * 1.000_001, "{jump}: {fastest}");
            assert!(
                hardest <= limiter.acceleration * 3.0,
                "{jump}: {hardest} above {}",
                limiter.acceleration
            );
            assert_eq!(values[47_999], jump);
            assert!(values.iter().all(|p| p.abs() <= jump.abs()), "no overshoot");
        }
    }

    #[test]
    fn it_catches_a_target_that_keeps_moving() {
        let mut limiter = SlewLimiter::new(RATE, 1.0);
        let target = |n: i32| 0.010 + f64::from(n) * 0.02 / RATE;
        let values: Vec<f64> = (0..48_000).map(|n| limiter.follow(target(n))).collect();
        assert_eq!(values[47_999], target(47_999));
    }
}
