//! Automation points joined into one line, in time with the audio that they were drawn over.

use std::collections::VecDeque;
use std::ops::Range;

use super::values::Values;

/// Half of the triangle that rounds the corners. Short against any reel, long against any period of treble.
const ROUND_S: f64 = 0.002;
/// Points farther apart than this are steps and not a line. Common practice of hosts, no source: a line is sent as a
/// point a block, or closer.
const FARTHEST_POINTS_S: f64 = 0.050;
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

/// Values in samples of offset go in as the host gives them and come out `latency` samples later. While they wait, the
/// points of a drawn line are joined: a line through points no farther apart than the wait comes out exactly.
#[derive(Clone, Debug)]
pub struct Smoother {
    /// Values that can still be corrected, oldest first.
    waiting: VecDeque<i64>,
    first: MovingSum,
    second: MovingSum,
    last: i64,
    /// Where it rested before the step that was the last change, if that was one.
    rested_at: Option<i64>,
    /// Samples for which `last` has not changed.
    unchanged: usize,
    /// See [`FARTHEST_POINTS_S`], in samples.
    farthest: usize,
    /// What came out last.
    out: f64,
}

impl Smoother {
    /// `latency` at least 2 ms.
    pub fn new(sample_rate: f64, latency: usize) -> Self {
        let width = ((ROUND_S * sample_rate) as usize).clamp(1, latency + 1);
        Self {
            waiting: VecDeque::from(vec![0; latency + 1 - width]),
            first: MovingSum::new(width),
            second: MovingSum::new(width),
            last: 0,
            rested_at: None,
            unchanged: usize::MAX,
            farthest: (FARTHEST_POINTS_S * sample_rate) as usize,
            out: 0.0,
        }
    }

    /// As if it had always been `samples`.
    pub fn fill(&mut self, samples: f64) {
        let width = self.first.values.len() as i64;
        self.last = steps(samples);
        self.rested_at = None;
        self.waiting.iter_mut().for_each(|x| *x = self.last);
        self.first.fill(self.last);
        self.second.fill(self.last * width);
        self.unchanged = usize::MAX;
        self.out = self.last as f64 / STEPS;
    }

    /// Takes the same value for so many samples, at most `CHUNK`; those that come out go `into` the values.
    pub fn push(&mut self, samples: f64, count: usize, into: &mut Values<f64>) {
        let next = steps(samples);
        if next != self.last {
            self.join(next);
            self.last = next;
            self.unchanged = 0;
        }
        self.repeat(count, into);
    }

    /// Draws the line from the last point to this one over the values that still wait. A step out of rest that another
    /// point follows was the first point of a line: as far from its corner as the second is from it.
    fn join(&mut self, next: i64) {
        if self.unchanged > self.farthest {
            self.rested_at = Some(self.last);
            return;
        }
        let spacing = self.unchanged.min(self.waiting.len());
        self.draw(0..spacing, self.last, next);
        let rested_at = self.rested_at.take();
        if let Some(rest) = rested_at.filter(|_| 2 * spacing <= self.waiting.len()) {
            self.draw(spacing..2 * spacing, rest, self.last);
        }
    }

    /// A line over some of the values, counted back from the newest.
    fn draw(&mut self, values: Range<usize>, from: i64, to: i64) {
        let step = (to - from) as f64 / values.len() as f64;
        let waiting = self.waiting.iter_mut().rev();
        let corrected = waiting.skip(values.start).take(values.len()).enumerate();
        for (back, value) in corrected {
            *value = to - rounded(step * (back + 1) as f64);
        }
    }

    /// The last value for so many samples, as [`push`](Self::push).
    pub fn repeat(&mut self, count: usize, into: &mut Values<f64>) {
        let inside = 2 * self.first.values.len() + self.waiting.len();
        if self.unchanged > inside {
            self.unchanged = self.unchanged.saturating_add(count);
            *into = Values::Resting(self.out);
            return;
        }
        for out in &mut into.each()[..count] {
            if self.unchanged <= inside {
                self.out = self.work();
            }
            self.unchanged = self.unchanged.saturating_add(1);
            *out = self.out;
        }
    }

    fn work(&mut self) -> f64 {
        // Out before in: the queue never grows.
        let value = match self.waiting.pop_front() {
            Some(value) => {
                self.waiting.push_back(self.last);
                value
            }
            None => self.last,
        };
        let sum = self.second.push(self.first.push(value));
        let width = self.first.values.len() as f64;
        sum as f64 / (width * width * STEPS)
    }
}

/// Up to 40 000 samples of offset; at 768 kHz 12 ms are 9216.
fn steps(samples: f64) -> i64 {
    rounded(samples.clamp(-40_000.0, 40_000.0) * STEPS)
}

/// To nearest, halves away from zero; without a call of the system's library, which `round` is on processors of 2003.
fn rounded(steps: f64) -> i64 {
    (steps + 0.5f64.copysign(steps)) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(smoother: &mut Smoother, samples: f64) -> f64 {
        let mut out = Values::Resting(0.0);
        smoother.push(samples, 1, &mut out);
        out.at(0)
    }

    #[test]
    fn points_make_a_line_that_is_late_by_the_latency_and_by_nothing_else() {
        for (rate, latency) in [(48_000.0, 640), (44_100.0, 577), (8_000.0, 200)] {
            for spacing in [1, 8, 64, 100] {
                let mut smoother = Smoother::new(rate, latency);
                for n in 0..6000usize {
                    let got = next(&mut smoother, (n / spacing * spacing) as f64 * 0.037);
                    let want = (n as f64 - latency as f64) * 0.037;
                    if n > 3 * latency {
                        let case = format!("{rate} Hz, every {spacing}, {n}");
                        assert!((got - want).abs() < 1e-5, "{case}: {got} not {want}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_line_that_starts_out_of_rest_has_no_step_at_its_corner() {
        let speed = 0.02;
        for spacing in [1usize, 16, 64, 256] {
            let mut smoother = Smoother::new(48_000.0, 640);
            let line = |n: usize| speed * (n / spacing * spacing).saturating_sub(5120) as f64;
            let outputs: Vec<f64> = (0..9000).map(|n| next(&mut smoother, line(n))).collect();
            let speeds = outputs.windows(2).map(|pair| pair[1] - pair[0]);
            let fastest = speeds.fold(0.0, f64::max);
            assert!(fastest < speed * 1.001, "every {spacing}: {fastest}");
        }
    }

    #[test]
    fn a_constant_is_exact_for_ever() {
        let mut smoother = Smoother::new(768_000.0, 9216 + 32);
        for (value, count) in [(-9216.0, 90_000), (123.25, 90_000), (0.0, 90_000)] {
            let last = (0..count).map(|_| next(&mut smoother, value)).last();
            assert_eq!(last, Some(value));
        }
    }

    #[test]
    fn a_single_step_stays_where_it_is() {
        let mut smoother = Smoother::new(48_000.0, 640);
        let out: Vec<f64> = (0..12_000)
            .map(|n| next(&mut smoother, if n < 6000 { 0.0 } else { 10.0 }))
            .collect();
        let round = 96;
        assert_eq!(out[6640 - round], 0.0);
        assert!((out[6640] - 5.0).abs() < 0.2);
        assert_eq!(out[6640 + round], 10.0);
    }
}
