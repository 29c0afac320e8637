//! Centre and range of the travel as automated: smoothed, and delayed to the audio that they belong to.

use super::automation::Smoother;
use super::settings::CourseSettings;
use crate::delay::delay_line::CHUNK;

/// Centre and range in samples, sample by sample.
type Values<'a> = (&'a mut [f64], &'a mut [f64]);

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

    /// Takes the newest settings for the next samples, at most `CHUNK`; gives centre and range of those that come out, seconds.
    pub fn next(&mut self, newest: &CourseSettings, centre: &mut [f64], range: &mut [f64]) {
        let (mut other_centre, mut other_range) = ([0.0; CHUNK], [0.0; CHUNK]);
        let discarded: Values<'_> = (
            &mut other_centre[..centre.len()],
            &mut other_range[..centre.len()],
        );
        let [a, b] = &mut self.sets;
        let (read, other) = if self.reading == 0 { (a, b) } else { (b, a) };
        if self.reading == self.writing {
            read.push(newest, self.sample_rate, (centre, range));
            other.repeat(discarded);
        } else {
            read.repeat((centre, range));
            other.push(newest, self.sample_rate, discarded);
        }
        let step_s = 1.0 / self.sample_rate;
        centre.iter_mut().for_each(|x| *x *= step_s);
        range.iter_mut().for_each(|x| *x *= step_s);
    }
}

impl Smoothers {
    fn fill(&mut self, settings: &CourseSettings, sample_rate: f64) {
        self.centre.fill(settings.offset_s * sample_rate);
        self.range.fill(settings.range_s * sample_rate);
    }

    fn push(&mut self, settings: &CourseSettings, sample_rate: f64, out: Values<'_>) {
        self.centre.push(settings.offset_s * sample_rate, out.0);
        self.range.push(settings.range_s * sample_rate, out.1);
    }

    fn repeat(&mut self, out: Values<'_>) {
        self.centre.repeat(out.0);
        self.range.repeat(out.1);
    }
}
