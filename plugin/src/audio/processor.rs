//! One activation's audio: align, decks, output level, monitor, bypass; and what is measured on the way.

use super::fixed_delay::FixedDelay;
use super::gain_ramp::GainRamp;
use super::host_transport::advanced;
use super::monitor::MonitorMix;
use super::output_gate::OutputGate;
use super::setup::Setup;
use crate::analysis::MeasurementFeed;
use crate::exchange::{ReportInbox, Telemetry};
use crate::params::{Monitor, PlumblineParams};
use plumbline_dsp::decks::Sweep;
use plumbline_dsp::decks::mix::MixSettings;
#[cfg(feature = "editor")]
use plumbline_dsp::decks::preview::Bearings;
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_clock::Transport;
use plumbline_dsp::delay::align::{Align, places};
use plumbline_dsp::delay::bypass::{Bypass, BypassSetup, Heard};
use plumbline_dsp::plan::{MAX_DELAY_S, Plan, plan};
use plumbline_dsp::units::amplitude;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Corrections are taken over on these boundaries of the stream, so that a render does not depend on the host's
/// block size: 5 ms at 48 kHz.
const QUANTUM: usize = 256;

/// Beyond this (+ 200 dB) it is not audio, and sums of it could overflow: read as silence, like NaN and infinity.
const LOUDEST: f32 = 1e10;

/// The whole path of one activation. `process` never allocates, locks, waits or fails.
pub struct Processor {
    setup: Setup,
    align: Align,
    /// In the mode that has them.
    sweep: Option<Sweep>,
    course: CourseSettings,
    mix: MixSettings,
    /// Of the part that is being worked on.
    transport: Transport,
    bypass: Bypass,
    gate: OutputGate,
    /// The spot for the ear, as late as the rest.
    spot: FixedDelay,
    output: GainRamp,
    monitor: MonitorMix,
    feed: MeasurementFeed,
    /// An offline render of a session that has a measurement: that one is used, and none is made.
    uses_measurement: bool,
    /// Samples since the last boundary.
    phase: usize,
    /// The spot of one part of a block, one channel.
    spot_part: Vec<f32>,
    telemetry: Arc<Telemetry>,
}

impl Processor {
    /// Allocates everything.
    pub fn new(setup: Setup, feed: MeasurementFeed, telemetry: Arc<Telemetry>) -> Self {
        Self {
            setup,
            align: Align::new(setup.align()),
            sweep: setup.sweep().map(Sweep::new),
            course: CourseSettings::default(),
            mix: MixSettings::default(),
            transport: Transport::Standing,
            bypass: Bypass::new(BypassSetup {
                sample_rate: setup.sample_rate,
                channels: setup.channels,
                latency: setup.latency(),
                longest_block: QUANTUM,
            }),
            gate: OutputGate::new(setup.sample_rate),
            spot: FixedDelay::new(setup.latency()),
            output: GainRamp::new(setup.sample_rate, 1.0),
            monitor: MonitorMix::new(setup.sample_rate),
            feed,
            uses_measurement: false,
            phase: 0,
            spot_part: vec![0.0; QUANTUM],
            telemetry,
        }
    }

    /// What this activation was made for.
    pub fn setup(&self) -> Setup {
        self.setup
    }

    /// The analysis, for the next activation.
    pub fn into_feed(self) -> MeasurementFeed {
        self.feed
    }

    /// Samples that sound on after the input has ended: the latency, the longest delay, a kernel, and the decks' own.
    pub fn tail(&self) -> u32 {
        let align = 2 * self.align.latency();
        let decks = self.sweep.as_ref().map_or(0, Sweep::tail);
        (align + self.longest_delay() + decks) as u32
    }

    fn longest_delay(&self) -> usize {
        (MAX_DELAY_S * self.setup.sample_rate).ceil() as usize
    }

    /// Where the moving deck is, if there is one.
    #[cfg(feature = "editor")]
    pub fn bearings(&self) -> Option<Bearings> {
        self.sweep.as_ref().map(Sweep::bearings)
    }

    /// Goes on in the place of another: with its measurement feed, and with empty delay lines.
    pub fn take_over(&mut self, other: &mut Self) {
        std::mem::swap(&mut self.feed, &mut other.feed);
        self.phase = other.phase;
    }

    /// GainRamps out, for another to take its place.
    pub fn leave(&mut self) {
        self.gate.close();
    }

    /// GainRamps in again, if it was to leave.
    pub fn stay(&mut self) {
        self.gate.stay_open();
    }

    /// Nothing of it is heard any more.
    pub fn has_left(&self) -> bool {
        self.gate.is_closed()
    }

    /// In the place of another that has left: fades in when the lines are full.
    pub fn enter(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.arrive(params, reports);
        self.gate
            .open_after(self.setup.latency() + self.longest_delay());
    }

    /// Starts from where the knobs stand, without a glide.
    pub fn arrive(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.uses_measurement = self.setup.offline && reports.current().measurement.hits > 0;
        self.follow_knobs(params, reports);
        self.align.reset();
        self.bypass.reset();
        self.gate.reset();
        self.output.jump();
        self.monitor.jump();
    }

    /// Forgets the audio and starts from where the knobs stand, without a glide.
    pub fn reset(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.arrive(params, reports);
        if let Some(sweep) = &mut self.sweep {
            sweep.reset();
        }
        self.spot.reset();
        self.phase = 0;
        self.feed.break_off();
    }

    /// Works in place on the main channels. `spot` holds none, one or two channels of the same length; `transport` is the
    /// first sample's.
    pub fn process(
        &mut self,
        main: &mut [&mut [f32]],
        spot: &[&mut [f32]],
        transport: Transport,
        params: &PlumblineParams,
        reports: &mut ReportInbox,
    ) {
        self.follow_knobs(params, reports);
        self.course = params.sweep.course(transport);
        self.mix = params.sweep.mix();
        let length = main.first().map_or(0, |channel| channel.len());
        let mut done = 0;
        while done < length {
            if self.phase == 0 {
                reports.take_measured();
                self.set_places(params, reports);
            }
            let count = (QUANTUM - self.phase).min(length - done);
            self.transport = advanced(transport, done, self.setup.sample_rate);
            self.process_part(main, spot, done..done + count);
            self.phase = (self.phase + count) % QUANTUM;
            done += count;
        }
    }

    fn follow_knobs(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        if reports.take_loaded() {
            self.feed.restart(reports.measurement_start());
        }
        let measure = params.measure.value() && !self.uses_measurement;
        self.feed
            .follow(measure.then(|| reports.measurement_start()));
        let offline = self.setup.offline;
        let choice = if offline {
            Monitor::Stereo
        } else {
            params.monitor.value()
        };
        self.monitor.choose(choice, self.setup.channels);
        self.output
            .go_to(amplitude(params.output.value().into()) as f32);
        let bypass = params.bypass.value();
        self.bypass
            .set_heard(if bypass { Heard::Dry } else { Heard::Worked });
        self.set_places(params, reports);
    }

    fn set_places(&mut self, params: &PlumblineParams, reports: &ReportInbox) {
        let Setup {
            sample_rate,
            channels,
            reach_s,
            ..
        } = self.setup;
        let settings = params.plan_settings(reach_s);
        let plan = plan(&reports.current().measurement, channels, &settings);
        self.align.set_places(&places(&plan, channels, sample_rate));
        self.tell(&plan);
    }

    fn tell(&self, plan: &Plan) {
        let Telemetry {
            first_s,
            second_s,
            flip,
            missing_reach_s,
            sample_rate,
            latency,
            reach_s,
            channels,
            ..
        } = &*self.telemetry;
        sample_rate.store(self.setup.sample_rate, Relaxed);
        latency.store(self.setup.latency() as u32, Relaxed);
        reach_s.store(self.setup.reach_s, Relaxed);
        channels.store(self.setup.channels as u32, Relaxed);
        first_s.store(plan.first_s, Relaxed);
        second_s.store(plan.second_s, Relaxed);
        flip.store(plan.flip, Relaxed);
        missing_reach_s.store(plan.missing_reach_s, Relaxed);
    }

    /// At most one quantum of the block.
    fn process_part(&mut self, main: &mut [&mut [f32]], spot: &[&mut [f32]], part: Range<usize>) {
        let spot_part = &mut self.spot_part[..part.len()];
        take_spot(spot_part, spot, part.clone());
        match main {
            [mono] => self.process_channels(&mut [&mut mono[part]]),
            [first, second] => {
                let second = &mut second[part.clone()];
                self.process_channels(&mut [&mut first[part], second]);
            }
            _ => {}
        }
    }

    fn process_channels(&mut self, channels: &mut [&mut [f32]]) {
        channels.iter_mut().for_each(|channel| tame(channel));
        let length = channels[0].len();
        let spot = &mut self.spot_part[..length];
        let second = channels.get(1).map_or(&[][..], |second| second);
        self.feed.push(channels[0], second, spot);
        self.bypass.listen(channels);
        self.align.process(channels);
        if let Some(sweep) = &mut self.sweep {
            sweep.process(channels, &self.course, &self.mix, self.transport);
        }
        self.spot.process(spot);
        self.output.apply(channels);
        self.monitor.process(channels, spot);
        self.bypass.mix(channels);
        self.gate.apply(channels);
    }
}

/// One channel of the spot: as it is, half the sum of two, or silence.
fn take_spot(to: &mut [f32], spot: &[&mut [f32]], part: Range<usize>) {
    match spot {
        [] => to.fill(0.0),
        [mono] => to.copy_from_slice(&mono[part]),
        [left, right, ..] => {
            let pairs = left[part.clone()].iter().zip(&right[part]);
            for (to, (left, right)) in to.iter_mut().zip(pairs) {
                *to = 0.5 * left + 0.5 * right;
            }
        }
    }
    tame(to);
}

/// Leaves audio as it is and silences what is none.
fn tame(channel: &mut [f32]) {
    for sample in channel {
        let audible = sample.abs() < LOUDEST;
        *sample = if audible { *sample } else { 0.0 };
    }
}
