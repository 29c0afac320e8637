//! Cross-fades the moving deck over a cut of its course: the old offset stands still while the new course fades in.

use super::course::Continuity;
use super::values::Values;
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::{GLIDE_S, Ramp};

/// One chunk of a running cross-fade.
#[derive(Clone, Copy, Debug)]
pub struct CrossFadeChunk {
    /// Offset before the cut, sample by sample, seconds.
    pub old_s: Values<f64>,
    /// Of the new course against the old one; 1 where there is nothing to fade.
    pub gains: [f32; CHUNK],
}

impl CrossFadeChunk {
    /// Mixes the audio read at the old offset into that of the new course.
    pub fn mix(&self, new: &mut [f32], old: &[f32]) {
        for ((new, &old), &gain) in new.iter_mut().zip(old).zip(&self.gains) {
            if gain < 1.0 {
                *new = old + gain * (*new - old);
            }
        }
    }
}

/// State of the cross-fade between two offsets of the moving deck.
#[derive(Clone, Debug)]
pub struct CrossFade {
    fade: Ramp,
    old_s: f64,
    /// A second cut during a fade: the offset at which the new side stands until this fade has ended.
    waiting: Option<f64>,
    /// Offset of the last sample, seconds.
    new_s: f64,
}

impl CrossFade {
    /// Nothing to fade.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            fade: Ramp::new(GLIDE_S, sample_rate),
            old_s: 0.0,
            waiting: None,
            new_s: 0.0,
        }
    }

    /// Ends a fade at once.
    pub fn reset(&mut self) {
        self.fade.finish();
        self.waiting = None;
    }

    /// The fade over so many offsets of the course, if one runs; overwrites them while a second cut waits.
    pub fn chunk(
        &mut self,
        continuity: Continuity,
        offsets: &mut Values<f64>,
        count: usize,
    ) -> Option<CrossFadeChunk> {
        if continuity == Continuity::Cut {
            self.cut();
        }
        let fade = self.is_under_way().then(|| {
            let (mut old_s, mut gains) = ([0.0; CHUNK], [1.0; CHUNK]);
            for (n, new_s) in offsets.each()[..count].iter_mut().enumerate() {
                (old_s[n], gains[n]) = self.step(new_s);
            }
            let old_s = Values::Moving(old_s);
            CrossFadeChunk { old_s, gains }
        });
        self.pass(offsets.at(count - 1));
        fade
    }

    /// A fade runs or waits.
    pub fn is_under_way(&self) -> bool {
        self.waiting.is_some() || self.fade.is_running()
    }

    /// Goes past samples without a fade or a cut, the last of them at this offset in seconds.
    pub fn pass(&mut self, last_s: f64) {
        self.new_s = last_s;
    }

    fn cut(&mut self) {
        if self.fade.is_running() {
            self.waiting.get_or_insert(self.new_s);
        } else {
            self.start();
        }
    }

    /// Old offset and gain of the new course for one sample.
    fn step(&mut self, new_s: &mut f64) -> (f64, f32) {
        if !self.fade.is_running() && self.waiting.take().is_some() {
            self.start();
        }
        self.new_s = self.waiting.unwrap_or(*new_s);
        *new_s = self.new_s;
        (self.old_s, self.fade.step())
    }

    fn start(&mut self) {
        self.old_s = self.new_s;
        self.fade.start();
    }
}
