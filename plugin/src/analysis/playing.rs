//! Picks a drum by playing it: the next four strokes say which one it is.

use crate::exchange::{PICKING_HITS, PickedByPlaying};
use plumbline_dsp::measure::{Analyser, DrumChoice};
use plumbline_dsp::measurement::HitOutcome;

/// A request for the next four strokes.
#[derive(Clone, Copy, Debug)]
pub struct Playing {
    request: u32,
    /// Strokes from here on count, seconds of the analyser.
    from_s: f64,
    left: u8,
}

impl Playing {
    pub fn new(request: u32) -> Self {
        Self {
            request,
            from_s: 0.0,
            left: PICKING_HITS,
        }
    }

    /// Counts from now on; what has been picked already stays.
    pub fn begin(self, analyser: &mut Analyser) -> Self {
        if self.left == 0 {
            return self;
        }
        let from_s = analyser.heard_s();
        analyser.choose(DrumChoice::Strokes {
            from_s,
            to_s: f64::INFINITY,
        });
        Self {
            from_s,
            left: PICKING_HITS,
            ..self
        }
    }

    /// Counts what was heard; after the fourth stroke no other one decides.
    pub fn follow(&mut self, analyser: &mut Analyser) {
        if self.left == 0 {
            return;
        }
        let counted = |outcome| matches!(outcome, HitOutcome::Counted { .. });
        let hits = analyser.hits().iter();
        let mut own = hits.filter(|hit| hit.at_s >= self.from_s && counted(hit.outcome));
        let fourth = own.clone().nth(usize::from(PICKING_HITS) - 1).copied();
        let heard = own.by_ref().take(usize::from(PICKING_HITS)).count() as u8;
        self.left = PICKING_HITS - heard;
        if let Some(fourth) = fourth {
            analyser.choose(DrumChoice::Strokes {
                from_s: self.from_s,
                to_s: fourth.at_s,
            });
        }
    }

    /// For the window.
    pub fn state(&self) -> PickedByPlaying {
        PickedByPlaying {
            request: self.request,
            left: self.left,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::channels::Inputs;
    use plumbline_dsp::measure::AnalyserSetup;

    const RATE: f64 = 48_000.0;
    const SPACING: usize = 16_800;

    /// A drum: its note, Hz, how loud its noise is, and its gap, samples.
    #[derive(Clone, Copy)]
    struct Drum {
        hz: f32,
        noise: f32,
        gap: usize,
    }

    const SNARE: Drum = Drum {
        hz: 200.0,
        noise: 1.0,
        gap: 24,
    };
    const TOM: Drum = Drum {
        hz: 110.0,
        noise: 0.12,
        gap: 6,
    };

    /// Pushes one stroke of a drum, all of its time.
    fn strike(analyser: &mut Analyser, drum: Drum, seed: u32) {
        let mut state = seed.wrapping_mul(2_654_435_761).max(1);
        let mut noise = || {
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            state as f32 / u32::MAX as f32 * 2.0 - 1.0
        };
        let sound: Vec<f32> = (0..SPACING)
            .map(|n| {
                let t = n as f32 / RATE as f32;
                let note = (std::f32::consts::TAU * drum.hz * t).sin() * (-t / 0.06).exp();
                let click = noise() * (-t / 0.02).exp();
                0.3 * (0.5 * note + drum.noise * click) + 1e-5 * noise()
            })
            .collect();
        let at = |n: usize, late: usize| n.checked_sub(late + 2_400).map_or(0.0, |n| sound[n]);
        let first: Vec<f32> = (0..SPACING).map(|n| at(n, 100)).collect();
        let second: Vec<f32> = (0..SPACING).map(|n| at(n, 100 + drum.gap)).collect();
        analyser.push(&first, &second, &[]);
    }

    #[test]
    fn the_next_four_strokes_say_which_drum_is_meant() {
        let mut analyser = Analyser::new(AnalyserSetup {
            sample_rate: RATE,
            inputs: Inputs::Pair,
        });
        for stroke in 0..12 {
            strike(
                &mut analyser,
                [SNARE, SNARE, TOM][stroke % 3],
                stroke as u32 + 1,
            );
        }
        let gap = |analyser: &Analyser| {
            let gap = analyser.measurement().gap.expect("a gap");
            gap.attack_s * RATE
        };
        assert!(
            (gap(&analyser) - 24.0).abs() < 1.0,
            "the snare: {}",
            gap(&analyser)
        );
        let mut playing = Playing::new(7).begin(&mut analyser);
        assert_eq!(playing.state().left, PICKING_HITS);
        for (stroke, left) in [3, 2, 1, 0].into_iter().enumerate() {
            strike(&mut analyser, TOM, 100 + stroke as u32);
            playing.follow(&mut analyser);
            assert_eq!(playing.state().left, left);
        }
        assert!(
            (gap(&analyser) - 6.0).abs() < 1.0,
            "the tom: {}",
            gap(&analyser)
        );
        strike(&mut analyser, SNARE, 200);
        playing.follow(&mut analyser);
        assert_eq!(
            playing.state(),
            PickedByPlaying {
                request: 7,
                left: 0
            }
        );
        assert!(
            (gap(&analyser) - 6.0).abs() < 1.0,
            "still the tom: {}",
            gap(&analyser)
        );
    }
}
