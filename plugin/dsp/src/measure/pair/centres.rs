//! Where a drum's strokes begin in the overheads and in the spot, against their common time.

use crate::channels::CHANNELS;
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::Window;
use crate::measure::pair::attack_timing::Centres;
use crate::measure::pair::timing::{Timing, later};

/// The drum's body, which cymbals leave alone.
const BODY_HZ: Edges = Edges {
    low_hz: 110.0,
    high_hz: 420.0,
};
/// Energy after against energy before is taken over this long.
const SPAN_S: f64 = 0.006;
/// A front lies within this of the strokes' time: 2.7 m of air.
const REACH_S: f64 = 0.008;
/// What is this far below the strongest is noise, power: 30 dB.
const NOISE: f64 = 1e-3;
/// Channels that are one group each: the overheads, between which a gap is to be found, and the spot.
const GROUPS: [std::ops::Range<usize>; 2] = [0..2, 2..CHANNELS];

/// Mean energy of the strokes' bodies on their common time.
pub(crate) struct CentreFinder {
    body: Box<[f32]>,
    energy: Box<[f64]>,
}

impl CentreFinder {
    pub(crate) fn new(window: &Window) -> Self {
        Self {
            body: vec![0.0; window.body()].into(),
            energy: vec![0.0; window.body() + 1].into(),
        }
    }

    pub(crate) fn find(
        &mut self,
        strokes: &[&Stroke],
        timing: &Timing,
        window: &Window,
    ) -> Centres {
        let mut centres = [0.0; CHANNELS];
        let later = later(strokes);
        for group in GROUPS {
            let later = later[group.start] / window.step as isize;
            let centre = self.group(strokes, timing, window, group.clone(), later);
            centres[group].fill(centre);
        }
        centres
    }

    fn group(
        &mut self,
        strokes: &[&Stroke],
        timing: &Timing,
        window: &Window,
        channels: std::ops::Range<usize>,
        later: isize,
    ) -> f64 {
        self.energy.fill(0.0);
        for (n, stroke) in strokes.iter().enumerate() {
            let late = (timing.at[n] - window.kept_before as f64) / window.step as f64;
            for channel in channels.clone() {
                self.add(&stroke.body[channel], late.round() as isize, window);
            }
        }
        let mut sum = 0.0;
        for energy in &mut self.energy {
            sum += std::mem::replace(energy, sum);
        }
        let steepest = self.steepest(window, later) as f64;
        steepest * window.step as f64 - window.kept_before as f64
    }

    fn add(&mut self, body: &[f32], late: isize, window: &Window) {
        self.body.copy_from_slice(body);
        BandPass::new(BODY_HZ, window.body_rate()).run(&mut self.body);
        let power = crate::measure::hit::stroke::power(&self.body).max(1e-20);
        for (n, energy) in self.energy.iter_mut().enumerate() {
            let at = usize::try_from(n as isize + late).ok();
            let x = at.and_then(|at| self.body.get(at)).copied().unwrap_or(0.0);
            *energy += f64::from(x).powi(2) / power;
        }
    }

    fn steepest(&self, window: &Window, later: isize) -> usize {
        let span = (SPAN_S * window.body_rate()) as usize;
        let reach = (REACH_S * window.body_rate()) as usize;
        let middle = (window.kept_before / window.step).saturating_add_signed(later);
        let energy = |from: usize, to: usize| self.energy[to] - self.energy[from];
        let first = middle.saturating_sub(reach).max(span);
        let last = (middle + reach).min(self.energy.len() - 1 - span);
        let most = (first..=last)
            .map(|at| energy(at, at + span))
            .fold(0.0, f64::max);
        // A spot may be off by more than the window: then there is no place in it.
        if most <= 0.0 || first > last {
            return middle;
        }
        let step = |at: usize| {
            (energy(at, at + span) + NOISE * most) / (energy(at - span, at) + NOISE * most)
        };
        let higher = |best: usize, at: usize| if step(at) > step(best) { at } else { best };
        (first..=last).fold(middle.clamp(first, last), higher)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A spot's step that was found anywhere, also outside of what is kept of a stroke.
    #[test]
    fn a_spot_may_come_at_any_time() {
        for rate in [8_000.0, 44_100.0, 48_000.0, 88_200.0] {
            let window = Window::new(rate);
            let mut finder = CentreFinder::new(&window);
            let kept = window.body() as isize;
            for later in -3 * kept..=3 * kept {
                finder.energy.fill(0.0);
                let middle = (window.kept_before / window.step).saturating_add_signed(later);
                assert_eq!(finder.steepest(&window, later), middle, "silence, {later}");
                for (n, energy) in finder.energy.iter_mut().enumerate() {
                    *energy = n as f64;
                }
                let steady = finder.steepest(&window, later);
                assert!(steady <= middle.max(window.body()), "{later}: {steady}");
            }
        }
    }
}
