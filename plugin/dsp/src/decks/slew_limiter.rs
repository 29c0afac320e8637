//! A hand on a reel: follows where it should be exactly, and no faster than a reel can be pushed.

/// Fastest change of an offset, seconds a second: what a hand on the flange does at most (1 to 5 %; common practice, no
/// source).
pub const FASTEST: f64 = 0.05;
/// Time to reach it from rest. Common practice, no source.
const SPEED_UP_S: f64 = 0.050;

/// Follows a target. While the target moves no faster than `FASTEST` it is the target, bit for bit.
#[derive(Clone, Debug)]
pub struct Hand {
    /// Most travel in one sample.
    most: f64,
    /// Most change of that travel from one sample to the next.
    force: f64,
    target: f64,
    place: f64,
    /// Travel of the last sample.
    travel: f64,
}

impl Hand {
    /// At zero; `scale` is the target's unit: 1 for seconds.
    pub fn new(sample_rate: f64, scale: f64) -> Self {
        let most = FASTEST * scale / sample_rate;
        Self {
            most,
            force: most / (SPEED_UP_S * sample_rate),
            target: 0.0,
            place: 0.0,
            travel: 0.0,
        }
    }

    /// At `target` and at rest.
    pub fn jump(&mut self, target: f64) {
        self.target = target;
        self.place = target;
        self.travel = 0.0;
    }

    /// Turns targets into places, sample by sample.
    pub fn follow_all(&mut self, targets: &mut [f64]) {
        let rests = self.place == self.target && self.travel == 0.0;
        if rests && targets.iter().all(|target| *target == self.target) {
            return;
        }
        for target in targets {
            *target = self.follow(*target);
        }
    }

    /// One sample later; returns where it is.
    pub fn follow(&mut self, target: f64) -> f64 {
        let step = target - self.target;
        let was_there = self.place == self.target;
        self.target = target;
        if was_there && step.abs() <= self.most {
            self.place = target;
            self.travel = step;
        } else {
            self.chase(step);
        }
        self.place
    }

    /// As fast as it can, braking in time to arrive at the target's own speed.
    fn chase(&mut self, step: f64) {
        let away = self.target - self.place;
        // Half the force: the other half is left to follow the curve in whole samples.
        let braking = (self.force * away.abs()).sqrt() * away.signum();
        let steady = if step.abs() <= self.most { step } else { 0.0 };
        let wanted = (steady + braking).clamp(-self.most, self.most);
        self.travel += (wanted - self.travel).clamp(-self.force, self.force);
        let left = away - self.travel;
        if left * away <= 0.0 || left.abs() <= self.force {
            self.place = self.target;
        } else {
            self.place += self.travel;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    #[test]
    fn slower_than_a_reel_it_is_the_target() {
        let mut hand = Hand::new(RATE, 1.0);
        for n in 0..10_000 {
            let target = 0.003 * (f64::from(n) / 3000.0).sin();
            assert_eq!(hand.follow(target), target);
        }
    }

    #[test]
    fn a_jump_becomes_a_fast_reel_that_arrives_exactly() {
        for jump in [0.012, -0.024, 0.0003] {
            let mut hand = Hand::new(RATE, 1.0);
            let places: Vec<f64> = (0..48_000).map(|_| hand.follow(jump)).collect();
            let steps: Vec<f64> = places.windows(2).map(|w| w[1] - w[0]).collect();
            let fastest = steps.iter().fold(0.0f64, |a, b| a.max(b.abs()));
            let hardest = steps
                .windows(2)
                .fold(0.0f64, |a, w| a.max((w[1] - w[0]).abs()));
            assert!(fastest <= hand.most * 1.000_001, "{jump}: {fastest}");
            assert!(
                hardest <= hand.force * 3.0,
                "{jump}: {hardest} above {}",
                hand.force
            );
            assert_eq!(places[47_999], jump);
            assert!(places.iter().all(|p| p.abs() <= jump.abs()), "no overshoot");
        }
    }

    #[test]
    fn it_catches_a_target_that_keeps_moving() {
        let mut hand = Hand::new(RATE, 1.0);
        let target = |n: i32| 0.010 + f64::from(n) * 0.02 / RATE;
        let places: Vec<f64> = (0..48_000).map(|n| hand.follow(target(n))).collect();
        assert_eq!(places[47_999], target(47_999));
    }
}
