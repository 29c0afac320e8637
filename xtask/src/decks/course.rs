//! The moving deck's course over a file: points for a drawing, and its null points.

use plumbline_hosting::Bundle;

use super::automation::Automation;
use super::null_points::{NullFinder, NullPoint};
use super::offset_probe::OffsetProbe;
use crate::failure::Outcome;

/// Most points of the drawn course: four a pixel of a wide sheet.
const POINTS: u64 = 4_000;

/// Follows the moving deck block by block.
pub struct CourseRecorder {
    probe: OffsetProbe,
    automation: Automation,
    sample_rate: f64,
    /// Samples from one drawn point to the next.
    step: i64,
    nulls: NullFinder,
    points: Vec<(f64, Option<f64>)>,
}

impl CourseRecorder {
    /// Opens the probe; the points of the drawing are spread over `frames`, where that is known.
    pub fn open(
        bundle: &Bundle,
        automation: &Automation,
        sample_rate: f64,
        frames: Option<u64>,
    ) -> Outcome<Self> {
        let least = (sample_rate / 1e3) as i64;
        let step = frames.map_or(least, |frames| least.max((frames / POINTS) as i64));
        Ok(Self {
            probe: OffsetProbe::open(bundle, automation, sample_rate)?,
            automation: automation.clone(),
            sample_rate,
            step: step.max(1),
            nulls: NullFinder::default(),
            points: Vec::new(),
        })
    }

    /// The next `count` samples.
    pub fn play(&mut self, count: usize) -> Outcome {
        let block = self.probe.play(count)?;
        for (at, offset_s) in (block.from..).zip(block.offsets_s) {
            if at < 0 {
                continue;
            }
            let offset_s = offset_s.filter(|_| self.automation.is_engaged(at, self.sample_rate));
            self.nulls.push(at as f64, offset_s);
            if at % self.step == 0 {
                self.points.push((at as f64 / self.sample_rate, offset_s));
            }
        }
        Ok(())
    }

    /// Null points before the end of the file.
    pub fn nulls(&self, frames: u64) -> Vec<NullPoint> {
        let end = frames as f64;
        let mut nulls = self.nulls.clone().finish(end);
        nulls.retain(|null| null.from < end);
        nulls
            .iter_mut()
            .for_each(|null| null.to = null.to.min(end - 1.0));
        nulls
    }

    /// Seconds and offset, seconds, before the end of the file.
    pub fn points(&self, frames: u64) -> Vec<(f64, Option<f64>)> {
        let end_s = frames as f64 / self.sample_rate;
        let inside = self.points.iter().filter(|(at_s, _)| *at_s < end_s);
        inside.copied().collect()
    }
}
