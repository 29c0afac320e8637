//! The null points of a course: where the moving deck passes the fixed one, or rests beside it.

/// Nearer than this the decks are together, seconds: what the offset probe can tell apart, far below a thousandth of a sample.
const TOGETHER_S: f64 = 5e-9;

/// Longer than this the decks rest together, seconds: a deck that only passes by is gone sooner.
const REST_S: f64 = 0.010;

/// One null point, samples of the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NullPoint {
    /// Where the decks come together.
    pub from: f64,
    /// Where they part; the same when one only passes the other.
    pub to: f64,
}

impl NullPoint {
    /// Its middle.
    pub fn middle(&self) -> f64 {
        0.5 * (self.from + self.to)
    }

    /// True when the decks stay together for a while.
    pub fn rests(&self, sample_rate: f64) -> bool {
        self.to - self.from >= REST_S * sample_rate
    }
}

/// Finds them sample by sample.
#[derive(Clone, Debug, Default)]
pub struct NullFinder {
    found: Vec<NullPoint>,
    /// Offset of the last sample, seconds; none inside a cross-fade.
    last_s: Option<f64>,
    /// Since when the decks are together.
    since: Option<f64>,
}

impl NullFinder {
    /// The next sample's offset, seconds.
    pub fn push(&mut self, at: f64, offset_s: Option<f64>) {
        let together = offset_s.is_some_and(|offset_s| offset_s.abs() <= TOGETHER_S);
        match (self.since, together) {
            (None, true) => self.since = Some(at),
            (Some(from), false) => self.part(from, at - 1.0),
            (None, false) => self.pass(at, offset_s),
            (Some(_), true) => {}
        }
        self.last_s = offset_s;
    }

    fn part(&mut self, from: f64, to: f64) {
        self.found.push(NullPoint { from, to });
        self.since = None;
    }

    /// Between two samples on either side.
    fn pass(&mut self, at: f64, offset_s: Option<f64>) {
        if let (Some(last), Some(now)) = (self.last_s, offset_s)
            && last * now < 0.0
        {
            let crossing = at - now / (now - last);
            self.part(crossing, crossing);
        }
    }

    /// All of them; the file ended before `end`.
    pub fn finish(mut self, end: f64) -> Vec<NullPoint> {
        if let Some(from) = self.since {
            self.part(from, end - 1.0);
        }
        self.found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(offsets: &[Option<f64>]) -> Vec<NullPoint> {
        let mut finder = NullFinder::default();
        for (n, offset) in offsets.iter().enumerate() {
            finder.push(n as f64, *offset);
        }
        finder.finish(offsets.len() as f64)
    }

    #[test]
    fn passing_touching_and_resting() {
        let line = |from: f64, step: f64| (0..100).map(move |n| Some(from + step * f64::from(n)));
        let passed: Vec<_> = line(-1.025e-5, 1e-6).collect();
        let points = found(&passed);
        assert_eq!(points.len(), 1);
        assert!((points[0].middle() - 10.25).abs() < 1e-6);
        let touched = [Some(1e-6), Some(0.0), Some(1e-6)];
        assert_eq!(found(&touched), [NullPoint { from: 1.0, to: 1.0 }]);
        let rested = [Some(0.0); 5];
        assert_eq!(found(&rested), [NullPoint { from: 0.0, to: 4.0 }]);
    }

    #[test]
    fn a_cut_from_one_side_to_the_other_is_no_null_point() {
        assert!(found(&[Some(1e-3), None, None, Some(-1e-3)]).is_empty());
    }
}
