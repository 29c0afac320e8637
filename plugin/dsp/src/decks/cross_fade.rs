//! A cut of the moving deck's course, faded over: the old course stands still while the new one comes in.

use super::course::Continuity;
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::{GLIDE_S, Ramp};

/// What a chunk needs while a fade runs.
#[derive(Clone, Copy, Debug)]
pub struct Fade {
    /// Offset before the cut, sample by sample, seconds.
    pub old_s: [f64; CHUNK],
    /// Of the new course against the old one; 1 where there is nothing to fade.
    pub gains: [f32; CHUNK],
}

impl Fade {
    /// Puts what the old course reads under what the new one reads.
    pub fn mix(&self, new: &mut [f32], old: &[f32]) {
        for ((new, &old), &gain) in new.iter_mut().zip(old).zip(&self.gains) {
            if gain < 1.0 {
                *new = old + gain * (*new - old);
            }
        }
    }
}

/// Cross-fades the moving deck over a cut: the old course stands still while the new one fades in.
#[derive(Clone, Debug)]
pub struct Splice {
    fade: Ramp,
    old_s: f64,
    /// Where the new side stands still because of a second cut during the fade.
    held: Option<f64>,
    /// Of the last sample.
    new_s: f64,
}

impl Splice {
    /// Nothing to fade.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            fade: Ramp::new(GLIDE_S, sample_rate),
            old_s: 0.0,
            held: None,
            new_s: 0.0,
        }
    }

    /// Forgets a fade.
    pub fn reset(&mut self) {
        self.fade.finish();
        self.held = None;
    }

    /// Takes the next offsets of the course, at most `CHUNK`; corrects them while a second cut waits.
    pub fn play(&mut self, continuity: Continuity, offsets: &mut [f64]) -> Option<Fade> {
        if continuity == Continuity::Cut {
            self.cut();
        }
        let fade = (self.held.is_some() || self.fade.is_running()).then(|| {
            let (mut old_s, mut gains) = ([0.0; CHUNK], [1.0; CHUNK]);
            for (n, new_s) in offsets.iter_mut().enumerate() {
                (old_s[n], gains[n]) = self.step(new_s);
            }
            Fade { old_s, gains }
        });
        self.new_s = offsets.last().copied().unwrap_or(self.new_s);
        fade
    }

    fn cut(&mut self) {
        if self.fade.is_running() {
            self.held.get_or_insert(self.new_s);
        } else {
            self.start();
        }
    }

    /// Old offset and gain of the new one.
    fn step(&mut self, new_s: &mut f64) -> (f64, f32) {
        if !self.fade.is_running() && self.held.take().is_some() {
            self.start();
        }
        self.new_s = self.held.unwrap_or(*new_s);
        *new_s = self.new_s;
        (self.old_s, self.fade.step())
    }

    fn start(&mut self) {
        self.old_s = self.new_s;
        self.fade.start();
    }
}
