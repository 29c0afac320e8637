//! Work at a multiple of the sample rate: half-band stages up, the work, the same stages down. Linear phase, whole
//! samples late.

use super::half_band::{half_of_taps, taps};
use super::history::{FRAME, History};
use crate::fir::filter_block;

/// Most stages.
const MOST: usize = 3;
/// The work is done at this rate or above, hertz.
const WORKING_RATE: f64 = 352_800.0;

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
    /// Past of the even and odd samples of the higher rate, on the way down.
    past: [History; 2],
    /// Even and odd samples of the higher rate.
    phases: [Vec<f32>; 2],
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

    /// Samples from input to output: the taps of each stage, at its own rate.
    pub fn latency(&self) -> usize {
        let stages = self.stages.iter().enumerate();
        stages.map(|(n, stage)| stage.up.len() >> n).sum()
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
            stage.past.iter_mut().for_each(History::reset);
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
            work(&mut phase[..audio.len()]);
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
            past: [
                History::new(stage.half(), longest),
                History::new(taps, longest),
            ],
            phases: [vec![0.0; longest], vec![0.0; longest]],
            joined: vec![0.0; 2 * longest],
        }
    }

    /// From `audio` to the phases.
    fn interpolate(&mut self, stage: &HalfBand, audio: &[f32]) {
        let count = audio.len();
        let span = self.input.extend(audio);
        let [even, odd] = &mut self.phases;
        let before = stage.half() - 1;
        even[..count].copy_from_slice(&span[before..before + count]);
        filter_block(&stage.up, span, &mut odd[..count]);
    }

    /// From the phases to `audio`.
    fn decimate(&mut self, stage: &HalfBand, audio: &mut [f32]) {
        let count = audio.len();
        let ([even, odd], [past_even, past_odd]) = (&self.phases, &mut self.past);
        let odd = past_odd.extend(&odd[..count]);
        filter_block(&stage.down, &odd[..stage.down.len() + count - 1], audio);
        let even = past_even.extend(&even[..count]);
        for (out, even) in audio.iter_mut().zip(even) {
            *out += 0.5 * even;
        }
    }

    fn join(&mut self, count: usize) -> &mut [f32] {
        let [even, odd] = &self.phases;
        let (pairs, _) = self.joined.as_chunks_mut::<2>();
        for (pair, phases) in pairs[..count].iter_mut().zip(even.iter().zip(odd)) {
            *pair = [*phases.0, *phases.1];
        }
        &mut self.joined[..2 * count]
    }

    fn part(&mut self, count: usize) {
        let [even, odd] = &mut self.phases;
        let (pairs, _) = self.joined.as_chunks::<2>();
        for (pair, (even, odd)) in pairs[..count].iter().zip(even.iter_mut().zip(odd)) {
            [*even, *odd] = *pair;
        }
    }
}
