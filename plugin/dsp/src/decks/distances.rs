//! Centre and range of the travel as automated: smoothed, and delayed to the audio that they belong to.

use super::automation::Smoother;
use super::settings::CourseSettings;
use super::values::Values;

/// Centre and range of some samples.
#[derive(Clone, Copy, Debug)]
pub struct CentreAndRange {
    pub centre: Values<f64>,
    pub range: Values<f64>,
}

impl Default for CentreAndRange {
    fn default() -> Self {
        Self {
            centre: Values::Resting(0.0),
            range: Values::Resting(0.0),
        }
    }
}

/// One smoother for each distance.
#[derive(Clone, Debug)]
struct Smoothers {
    centre: Smoother,
    range: Smoother,
}

/// Two sets of smoothers. From a jump in the song until its audio comes out, new settings go into one set while the other
/// still gives the settings from before the jump: nothing is smoothed across it.
#[derive(Clone, Debug)]
pub struct Distances {
    sample_rate: f64,
    sets: [Smoothers; 2],
    /// Index of the set that takes new settings.
    writing: usize,
    /// Index of the set whose values come out.
    reading: usize,
}

impl Distances {
    /// `latency`: samples from settings to the audio that they belong to.
    pub fn new(sample_rate: f64, latency: usize) -> Self {
        let set = Smoothers {
            centre: Smoother::new(sample_rate, latency),
            range: Smoother::new(sample_rate, latency),
        };
        Self {
            sample_rate,
            sets: [set.clone(), set],
            writing: 0,
            reading: 0,
        }
    }

    /// As if the settings had always been these.
    pub fn begin(&mut self, settings: &CourseSettings) {
        for set in &mut self.sets {
            set.fill(settings, self.sample_rate);
        }
        self.reading = self.writing;
    }

    /// Settings after a jump begin in the other set.
    pub fn write_after_jump(&mut self, settings: &CourseSettings) {
        self.writing = 1 - self.writing;
        self.sets[self.writing].fill(settings, self.sample_rate);
    }

    /// The audio after a jump comes out from now on.
    pub fn read_after_jump(&mut self) {
        self.reading = 1 - self.reading;
    }

    /// Takes the newest settings for the next samples, at most `CHUNK`; centre and range of those that come out, seconds, go
    /// `into` the values.
    pub fn next(&mut self, newest: &CourseSettings, count: usize, into: &mut CentreAndRange) {
        let mut discarded = CentreAndRange::default();
        let [a, b] = &mut self.sets;
        let (read, other) = if self.reading == 0 { (a, b) } else { (b, a) };
        if self.reading == self.writing {
            read.push(newest, self.sample_rate, count, into);
            other.repeat(count, &mut discarded);
        } else {
            read.repeat(count, into);
            other.push(newest, self.sample_rate, count, &mut discarded);
        }
        let step_s = 1.0 / self.sample_rate;
        into.centre.change(|x| x * step_s);
        into.range.change(|x| x * step_s);
    }
}

impl Smoothers {
    fn fill(&mut self, settings: &CourseSettings, sample_rate: f64) {
        self.centre.fill(settings.offset_s * sample_rate);
        self.range.fill(settings.range_s * sample_rate);
    }

    fn push(
        &mut self,
        settings: &CourseSettings,
        sample_rate: f64,
        count: usize,
        into: &mut CentreAndRange,
    ) {
        let CentreAndRange { centre, range } = into;
        self.centre
            .push(settings.offset_s * sample_rate, count, centre);
        self.range
            .push(settings.range_s * sample_rate, count, range);
    }

    fn repeat(&mut self, count: usize, into: &mut CentreAndRange) {
        self.centre.repeat(count, &mut into.centre);
        self.range.repeat(count, &mut into.range);
    }
}
