//! Automation points made into one line: a triangle of 24 ms around every sample, so that nothing comes late.

use std::collections::VecDeque;

/// Half the triangle, and also how far the moving deck can lead: the audio waits that long anyway.
pub const HALF_S: f64 = 0.012;
/// Steps in one sample of offset. Whole numbers, because sums of them never drift.
const STEPS: f64 = (1u64 << 20) as f64;

/// A moving sum of the last values.
#[derive(Clone, Debug)]
struct MovingSum {
    values: Vec<i64>,
    oldest: usize,
    sum: i64,
}

impl MovingSum {
    fn new(width: usize) -> Self {
        Self {
            values: vec![0; width],
            oldest: 0,
            sum: 0,
        }
    }

    fn fill(&mut self, value: i64) {
        self.values.fill(value);
        self.sum = value * self.values.len() as i64;
    }

    fn push(&mut self, value: i64) -> i64 {
        self.sum += value - std::mem::replace(&mut self.values[self.oldest], value);
        self.oldest += 1;
        if self.oldest == self.values.len() {
            self.oldest = 0;
        }
        self.sum
    }
}

/// Values in samples of offset go in as the host gives them and come out `latency` samples later, smooth: steps become
/// slopes, straight lines stay exactly where they are.
#[derive(Clone, Debug)]
pub struct Smoother {
    first: MovingSum,
    second: MovingSum,
    /// What the triangle's own delay leaves of the latency.
    waiting: VecDeque<i64>,
    last: i64,
    /// Samples for which `last` has not changed, up to where nothing else is left inside.
    unchanged: usize,
    /// What came out last.
    out: f64,
}

impl Smoother {
    /// `latency` at least the half triangle.
    pub fn new(sample_rate: f64, latency: usize) -> Self {
        let width = ((HALF_S * sample_rate) as usize).clamp(1, latency + 1);
        Self {
            first: MovingSum::new(width),
            second: MovingSum::new(width),
            waiting: VecDeque::from(vec![0; latency + 1 - width]),
            last: 0,
            unchanged: 0,
            out: 0.0,
        }
    }

    /// As if it had always been `samples`.
    pub fn fill(&mut self, samples: f64) {
        let width = self.first.values.len() as i64;
        self.last = steps(samples);
        self.first.fill(self.last);
        self.second.fill(self.last * width);
        self.waiting
            .iter_mut()
            .for_each(|x| *x = self.last * width * width);
    }

    /// Takes the same value for as many samples as `out` has.
    pub fn push(&mut self, samples: f64, out: &mut [f64]) {
        let next = steps(samples);
        if next != self.last {
            self.last = next;
            self.unchanged = 0;
        }
        self.hold(out);
    }

    /// The last value for as many samples as `out` has.
    pub fn hold(&mut self, out: &mut [f64]) {
        let whole = 2 * self.first.values.len() + self.waiting.len();
        for out in out {
            if self.unchanged <= whole {
                self.unchanged += 1;
                self.out = self.work();
            }
            *out = self.out;
        }
    }

    fn work(&mut self) -> f64 {
        let sum = self.second.push(self.first.push(self.last));
        self.waiting.push_back(sum);
        let sum = self.waiting.pop_front().unwrap_or(sum);
        let width = self.first.values.len() as f64;
        sum as f64 / (width * width * STEPS)
    }
}

/// Up to 40 000 samples of offset; at 768 kHz 12 ms are 9216. Rounded to nearest, halves away from zero.
fn steps(samples: f64) -> i64 {
    let steps = samples.clamp(-40_000.0, 40_000.0) * STEPS;
    (steps + 0.5f64.copysign(steps)) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(smoother: &mut Smoother, samples: f64) -> f64 {
        let mut out = [0.0];
        smoother.push(samples, &mut out);
        out[0]
    }

    #[test]
    fn a_line_is_delayed_by_the_latency_and_by_nothing_else() {
        for (rate, latency) in [(48_000.0, 640), (44_100.0, 577), (8_000.0, 200)] {
            let mut smoother = Smoother::new(rate, latency);
            for n in 0..4000 {
                let got = next(&mut smoother, f64::from(n) * 0.25);
                let want = (f64::from(n) - latency as f64) * 0.25;
                if n > 3 * latency as i32 {
                    assert!((got - want).abs() < 1e-9, "{rate}: {got} instead of {want}");
                }
            }
        }
    }

    #[test]
    fn a_constant_is_exact_for_ever() {
        let mut smoother = Smoother::new(768_000.0, 9216 + 32);
        for (value, count) in [(-9216.0, 30_000), (123.25, 30_000), (0.0, 30_000)] {
            let last = (0..count).map(|_| next(&mut smoother, value)).last();
            assert_eq!(last, Some(value));
        }
    }

    #[test]
    fn points_every_64_samples_make_a_line() {
        let mut smoother = Smoother::new(48_000.0, 640);
        let out: Vec<f64> = (0..20_000)
            .map(|n| next(&mut smoother, f64::from(n / 64 * 64) * 0.01))
            .collect();
        let line = |n: usize| (n as f64 - 640.0 - 31.5) * 0.01;
        for (n, got) in out.iter().enumerate().skip(3000) {
            assert!((got - line(n)).abs() < 1e-6, "{n}");
        }
    }
}
