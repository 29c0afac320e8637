//! Work at a multiple of the sample rate: half-band stages up, the work, the same stages down.
//!
//! Linear phase, whole samples late.

use super::half_band::{half_of_taps, taps};
use super::history::{FRAME, History};
use crate::delay::fir::filter_block;
use crate::math::widest::{Arithmetic, Work, run_widest};

/// Most stages.
const MOST: usize = 4;
/// The work is done at this rate or above, hertz.
const WORKING_RATE: f64 = 705_600.0;

/// How many times the rate is doubled.
pub fn stages_for(sample_rate: f64) -> usize {
    let enough = |stages: &usize| sample_rate * f64::from(1u32 << stages) >= WORKING_RATE;
    (0..MOST).find(enough).unwrap_or(MOST)
}

/// Coefficients of all stages.
#[derive(Clone, Debug)]
pub struct Oversampler {
    stages: Vec<HalfBand>,
}

/// One doubling of the rate. The interpolator reads half its taps ahead; the decimator half and one sample, so that the two
/// together take as many samples of the lower rate as there are taps, an even number.
#[derive(Clone, Debug)]
struct HalfBand {
    up: Vec<f32>,
    down: Vec<f32>,
}

impl HalfBand {
    fn new(sample_rate: f64, stage: usize) -> Self {
        let half = half_of_taps(sample_rate, stage);
        Self {
            up: taps(half, 1.0),
            down: taps(half, 0.5),
        }
    }

    fn half(&self) -> usize {
        self.up.len() / 2
    }
}

/// What one channel's stages remember.
#[derive(Clone, Debug)]
pub struct OversamplerState {
    stages: Vec<StageState>,
}

#[derive(Clone, Debug)]
struct StageState {
    input: History,
    /// Even and odd samples of the higher rate; their past is what the way down needs.
    phases: [History; 2],
    /// The two in their order, for the next stage.
    joined: Vec<f32>,
}

impl Oversampler {
    /// Doubles the rate `stages` times.
    pub fn new(sample_rate: f64, stages: usize) -> Self {
        let stages = (0..stages.min(MOST)).map(|stage| HalfBand::new(sample_rate, stage));
        Self {
            stages: stages.collect(),
        }
    }

    /// Samples from input to output: the taps of each stage, at its own rate. All that [`stages_for`] asks for
    /// come to a whole number.
    pub fn latency(&self) -> usize {
        let stages = self.stages.iter().enumerate();
        // Counted at the last stage's rate.
        let finest = self.stages.len().saturating_sub(1);
        let samples: usize = stages
            .map(|(n, stage)| stage.up.len() << (finest - n))
            .sum();
        samples >> finest
    }

    /// How many of the worked samples of one phase belong to one sample of the input; two phases where there is a stage.
    pub fn worked_per_sample(&self) -> usize {
        (1 << self.stages.len()) / 2
    }

    /// Silence.
    pub fn state(&self) -> OversamplerState {
        let stages = self.stages.iter().enumerate();
        let state = |(n, stage): (usize, &HalfBand)| StageState::new(stage, FRAME << n);
        OversamplerState {
            stages: stages.map(state).collect(),
        }
    }

    /// Runs `audio` (at most a frame), oversampled, through `work`, which takes each phase on its own.
    pub fn around(
        &self,
        state: &mut OversamplerState,
        audio: &mut [f32],
        mut work: impl FnMut(&mut [f32]),
    ) {
        around(&self.stages, &mut state.stages, audio, &mut work);
    }
}

impl OversamplerState {
    /// Silence.
    pub fn reset(&mut self) {
        for stage in &mut self.stages {
            stage.input.reset();
            stage.phases.iter_mut().for_each(History::reset);
        }
    }
}

fn around(
    stages: &[HalfBand],
    states: &mut [StageState],
    audio: &mut [f32],
    work: &mut impl FnMut(&mut [f32]),
) {
    let (Some((stage, stages)), Some((state, states))) =
        (stages.split_first(), states.split_first_mut())
    else {
        return work(audio);
    };
    state.interpolate(stage, audio);
    if stages.is_empty() {
        for phase in &mut state.phases {
            work(phase.block());
        }
    } else {
        let joined = state.join(audio.len());
        around(stages, states, joined, work);
        state.part(audio.len());
    }
    state.decimate(stage, audio);
}

impl StageState {
    fn new(stage: &HalfBand, longest: usize) -> Self {
        let taps = stage.up.len();
        Self {
            input: History::new(taps - 1, longest),
            phases: [
                History::new(stage.half(), longest),
                History::new(taps, longest),
            ],
            joined: vec![0.0; 2 * longest],
        }
    }

    /// From `audio` to the phases.
    fn interpolate(&mut self, stage: &HalfBand, audio: &[f32]) {
        let count = audio.len();
        let span = self.input.extend(audio);
        let [even, odd] = &mut self.phases;
        let before = stage.half() - 1;
        even.next(count)
            .copy_from_slice(&span[before..before + count]);
        filter_block(&stage.up, span, odd.next(count));
    }

    /// From the phases to `audio`.
    fn decimate(&mut self, stage: &HalfBand, audio: &mut [f32]) {
        let count = audio.len();
        let [even, odd] = &self.phases;
        let odd = &odd.span()[..stage.down.len() + count - 1];
        filter_block(&stage.down, odd, audio);
        for (out, even) in audio.iter_mut().zip(even.span()) {
            *out += 0.5 * even;
        }
    }

    fn join(&mut self, count: usize) -> &mut [f32] {
        let [even, odd] = &mut self.phases;
        let joined = &mut self.joined[..2 * count];
        run_widest(Join {
            joined,
            phases: [even.block(), odd.block()],
        });
        joined
    }

    fn part(&mut self, count: usize) {
        let [even, odd] = &mut self.phases;
        run_widest(Part {
            joined: &self.joined[..2 * count],
            phases: [even.block(), odd.block()],
        });
    }
}

/// Two phases in their order.
struct Join<'a> {
    joined: &'a mut [f32],
    phases: [&'a [f32]; 2],
}

impl Work for Join<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let ([even, odd], (pairs, _)) = (self.phases, self.joined.as_chunks_mut::<2>());
        for (pair, (&even, &odd)) in pairs.iter_mut().zip(even.iter().zip(odd)) {
            *pair = [even, odd];
        }
    }
}

/// The same the other way.
struct Part<'a> {
    joined: &'a [f32],
    phases: [&'a mut [f32]; 2],
}

impl Work for Part<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let ([even, odd], (pairs, _)) = (self.phases, self.joined.as_chunks::<2>());
        for (pair, (even, odd)) in pairs.iter().zip(even.iter_mut().zip(odd)) {
            [*even, *odd] = *pair;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_late_by_whole_samples_and_nothing_else() {
        for rate in [
            8_000.0, 44_100.0, 48_000.0, 64_000.0, 96_000.0, 192_000.0, 384_000.0, 768_000.0,
        ] {
            for stages in [0, stages_for(rate)] {
                let oversampler = Oversampler::new(rate, stages);
                let mut state = oversampler.state();
                let latency = oversampler.latency();
                let mut energy_around = (0.0, 0.0);
                let mut out = Vec::new();
                for block in 0..8 {
                    let mut audio = [0.0; FRAME];
                    // A band-limited pulse, symmetric about sample 100.
                    for (n, x) in audio.iter_mut().enumerate() {
                        let t = (block * FRAME + n) as f64 - 100.0;
                        *x = (-t * t / 50.0).exp() as f32;
                    }
                    oversampler.around(&mut state, &mut audio, |_| {});
                    out.extend(audio);
                }
                for n in 0..60 {
                    let (before, after) = (out[100 + latency - n], out[100 + latency + n]);
                    let want = (-((n * n) as f64) / 50.0).exp();
                    energy_around.0 += f64::from(before - after).abs();
                    energy_around.1 += (f64::from(after) - want).abs();
                }
                assert!(
                    energy_around.0 < 1e-5,
                    "{rate}, {stages}: {energy_around:?}"
                );
                assert!(
                    energy_around.1 < 1e-3,
                    "{rate}, {stages}: {energy_around:?}"
                );
            }
        }
    }
}
