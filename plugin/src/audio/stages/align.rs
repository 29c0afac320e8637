//! The alignment: delay and polarity of first, second and spot, as the plan of the measurement wants them.

use super::stage::{Controls, Stage, StageKind, StageSetup};
use crate::exchange::Telemetry;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::delay::align::{Align, AlignSetup, channel_shifts};
use plumbline_dsp::delay::spot_mix::{SpotMix, SpotMixSetup, spot_shift};
use plumbline_dsp::plan::{MAX_DELAY_S, Plan, PlanSettings, plan};
use std::sync::atomic::Ordering::Relaxed;

/// The alignment, to be built.
pub struct Kind;

impl StageKind for Kind {
    fn latency(&self, setup: &StageSetup) -> usize {
        align_setup(setup).latency()
    }

    fn build(&self, setup: &StageSetup) -> Box<dyn Stage> {
        Box::new(AlignStage {
            setup: *setup,
            align: Align::new(align_setup(setup)),
            spot: SpotMix::new(spot_setup(setup)),
            followed: None,
            plan: Plan::default(),
        })
    }
}

fn align_setup(setup: &StageSetup) -> AlignSetup {
    AlignSetup {
        sample_rate: setup.sample_rate,
        channels: setup.channels,
        reach_s: setup.reach_s,
    }
}

fn spot_setup(setup: &StageSetup) -> SpotMixSetup {
    SpotMixSetup {
        sample_rate: setup.sample_rate,
        reach_s: setup.reach_s,
    }
}

struct AlignStage {
    setup: StageSetup,
    align: Align,
    spot: SpotMix,
    /// Settings, and number of the report, that the plan was made of.
    followed: Option<(PlanSettings, u32)>,
    plan: Plan,
}

impl AlignStage {
    fn longest_delay(&self) -> usize {
        (MAX_DELAY_S * self.setup.sample_rate).ceil() as usize
    }
}

impl Stage for AlignStage {
    /// The latency, the longest delay, and a kernel, which the latency is longer than.
    fn tail(&self) -> usize {
        2 * self.align.latency() + self.longest_delay()
    }

    fn fill(&self) -> usize {
        self.align.latency() + self.longest_delay()
    }

    fn follow(&mut self, controls: &Controls<'_>) {
        let StageSetup {
            sample_rate,
            channels,
            reach_s,
            ..
        } = self.setup;
        let settings = controls.params.plan_settings(reach_s);
        let asked = Some((settings, controls.report_number));
        if std::mem::replace(&mut self.followed, asked) != asked {
            self.plan = plan(controls.measurement, channels, &settings);
            self.align
                .set_shifts(&channel_shifts(&self.plan, channels, sample_rate));
            self.spot
                .set_shift(spot_shift(&self.plan.spot, sample_rate));
        }
        // A mono main is itself moved to the spot: nothing is added to it.
        self.spot.set_gain(match channels {
            1 => 0.0,
            _ => controls.params.spot_gain(),
        });
    }

    fn reset(&mut self) {
        self.align.reset();
        self.spot.reset();
    }

    fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32], _transport: Transport) {
        self.align.process(channels);
        self.spot.process(channels, spot);
    }

    fn pass(&mut self, channels: &mut [&mut [f32]], spot: &[f32], _transport: Transport) {
        self.align.pass(channels);
        // Nothing while the spot is off; else its line and its fades go on.
        self.spot.process(channels, spot);
    }

    fn tell(&self, telemetry: &Telemetry) {
        let Plan {
            first_s,
            second_s,
            flip,
            missing_reach_s,
            spot,
        } = self.plan;
        telemetry.first_s.store(first_s, Relaxed);
        telemetry.second_s.store(second_s, Relaxed);
        telemetry.flip.store(flip, Relaxed);
        telemetry.missing_reach_s.store(missing_reach_s, Relaxed);
        telemetry.spot_s.store(spot.shift_s, Relaxed);
        telemetry.spot_flip.store(spot.flip, Relaxed);
    }
}
