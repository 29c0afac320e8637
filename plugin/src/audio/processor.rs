//! One activation's audio: the stages of its mode, output level, monitor, bypass; and what is measured on the way.

use super::compare::{Compare, Share};
use super::fixed_delay::FixedDelay;
use super::host_transport::advanced;
use super::input::{mix_spot, silence_non_audio};
use super::output_gate::OutputGate;
use super::output_stage::OutputStage;
use super::setup::{Render, Setup};
use super::stages::{Controls, Path};
use crate::analysis::MeasurementFeed;
use crate::exchange::{ReportInbox, Telemetry};
use crate::params::{Monitor, PlumblineParams};
use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::delay::bypass::{Bypass, BypassSetup, Source};
use plumbline_dsp::print::level_histogram::LevelHistogram;
use plumbline_dsp::units::amplitude;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Corrections are taken over on these boundaries of the stream, so that a render does not depend on the host's
/// block size: 5 ms at 48 kHz.
const QUANTUM: usize = 256;

/// The whole audio of one activation. `process` never allocates, locks, waits or fails.
pub struct Processor {
    setup: Setup,
    path: Path,
    bypass: Bypass,
    gate: OutputGate,
    /// The spot for the monitor, as late as the rest.
    spot: FixedDelay,
    output: OutputStage,
    /// Of the output: in dB, and as an amplitude.
    level: (f32, f32),
    /// Of a real-time activation: an offline render is for nobody's ear.
    compare: Option<Compare>,
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
        let path = Path::new(&setup);
        let bypass = BypassSetup {
            sample_rate: setup.sample_rate,
            channels: setup.channels,
            latency: path.latency(),
            longest_block: QUANTUM,
        };
        Self {
            setup,
            bypass: Bypass::new(bypass),
            gate: OutputGate::new(setup.sample_rate),
            spot: FixedDelay::new(path.latency()),
            output: OutputStage::new(setup.sample_rate),
            level: (0.0, 1.0),
            compare: match setup.render {
                Render::Realtime => Some(Compare::new(setup.sample_rate, QUANTUM)),
                Render::Offline => None,
            },
            path,
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

    /// Samples from input to output.
    pub fn latency(&self) -> u32 {
        self.path.latency() as u32
    }

    /// Samples that still sound after the input has ended.
    pub fn tail(&self) -> u32 {
        self.path.tail() as u32
    }

    /// Where the moving deck is; `None` in a mode without one.
    pub fn deck(&self) -> Option<DeckState> {
        self.path.deck()
    }

    /// How loud the take comes to the tape; `None` while there is none.
    pub fn levels(&self) -> Option<&LevelHistogram> {
        self.path.levels()
    }

    /// The way to the analysis, for the next activation.
    pub fn into_feed(self) -> MeasurementFeed {
        self.feed
    }

    /// Goes on in the place of another: with its measurement feed, and with empty delay lines.
    pub fn take_over(&mut self, other: &mut Self) {
        std::mem::swap(&mut self.feed, &mut other.feed);
        if let (Some(compare), Some(other)) = (&mut self.compare, &other.compare) {
            compare.take_over(other);
        }
        self.phase = other.phase;
    }

    /// Fades out, for another to take its place.
    pub fn fade_out(&mut self) {
        self.gate.close();
    }

    /// Fades in again, if it was fading out.
    pub fn stay(&mut self) {
        self.gate.stay_open();
    }

    /// Nothing of it is heard any more.
    pub fn has_faded_out(&self) -> bool {
        self.gate.is_closed()
    }

    /// In the place of another that has faded out: fades in when the delay lines are full.
    pub fn fade_in(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.start(params, reports);
        self.gate.open_after(self.path.fill());
    }

    /// Starts from the parameters' values, without a glide.
    pub fn start(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.uses_measurement =
            self.setup.render == Render::Offline && reports.current().measurement.hits > 0;
        self.follow(params, reports);
        self.follow_path(params, reports, Transport::Stopped);
        self.path.reset();
        self.bypass.reset();
        self.gate.reset();
        self.output.jump();
        if let Some(compare) = &mut self.compare {
            compare.jump();
        }
    }

    /// Forgets the audio and starts from the parameters' values, without a glide.
    pub fn reset(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        self.start(params, reports);
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
        self.follow(params, reports);
        let length = main.first().map_or(0, |channel| channel.len());
        let mut done = 0;
        while done < length {
            let now = advanced(transport, done, self.setup.sample_rate);
            if self.phase == 0 {
                reports.take_measured();
                if let Some(compare) = &mut self.compare {
                    compare.follow_loudness();
                }
            }
            // A part begins with a block, where parameters may have changed, or on a boundary.
            self.follow_path(params, reports, now);
            let count = (QUANTUM - self.phase).min(length - done);
            self.process_part(main, spot, done..done + count, now);
            self.phase = (self.phase + count) % QUANTUM;
            done += count;
        }
    }

    /// Follows the parameters of everything but the path, and the measurement that the host may have loaded.
    fn follow(&mut self, params: &PlumblineParams, reports: &mut ReportInbox) {
        if reports.take_loaded() {
            self.feed.restart(reports.measurement_start());
        }
        let picked = reports.picked();
        self.feed.choose(params.drum.value().asked(picked));
        let measure = params.measure.value() && !self.uses_measurement;
        self.feed
            .follow(measure.then(|| reports.measurement_start()));
        self.follow_output(params);
        self.bypass.set_source(match params.bypass.value() {
            true => Source::Dry,
            false => Source::Processed,
        });
        self.tell();
    }

    fn follow_output(&mut self, params: &PlumblineParams) {
        let channels = self.setup.channels;
        let level_db = params.output.value();
        if level_db != self.level.0 {
            self.level = (level_db, amplitude(level_db.into()) as f32);
        }
        let level = self.level.1;
        let monitor = match self.setup.render {
            Render::Realtime => params.monitor.value(),
            Render::Offline => Monitor::Stereo,
        };
        self.output.follow(level, monitor, channels);
        if let Some(compare) = &mut self.compare {
            compare.follow(level, monitor, channels);
            compare.listen_to_input(match params.compare.value() {
                true => Share::Input,
                false => Share::Processed,
            });
        }
    }

    fn follow_path(
        &mut self,
        params: &PlumblineParams,
        reports: &ReportInbox,
        transport: Transport,
    ) {
        let controls = Controls {
            params,
            measurement: &reports.current().measurement,
            report_number: reports.number(),
            transport,
        };
        self.path.follow(&controls, &self.telemetry);
    }

    fn tell(&self) {
        let telemetry = &self.telemetry;
        telemetry.sample_rate.store(self.setup.sample_rate, Relaxed);
        telemetry.latency.store(self.latency(), Relaxed);
        telemetry.reach_s.store(self.setup.reach_s, Relaxed);
        let channels = self.setup.channels as u32;
        telemetry.channels.store(channels, Relaxed);
    }

    /// At most one quantum of the block.
    fn process_part(
        &mut self,
        main: &mut [&mut [f32]],
        spot: &[&mut [f32]],
        part: Range<usize>,
        transport: Transport,
    ) {
        mix_spot(&mut self.spot_part[..part.len()], spot, part.clone());
        match main {
            [mono] => self.process_channels(&mut [&mut mono[part]], transport),
            [first, second] => {
                let second = &mut second[part.clone()];
                self.process_channels(&mut [&mut first[part], second], transport);
            }
            _ => {}
        }
    }

    fn process_channels(&mut self, channels: &mut [&mut [f32]], transport: Transport) {
        channels
            .iter_mut()
            .for_each(|channel| silence_non_audio(channel));
        let length = channels[0].len();
        let spot = &mut self.spot_part[..length];
        let second = channels.get(1).map_or(&[][..], |second| second);
        self.feed.push(channels[0], second, spot);
        self.bypass.push(channels);
        let bypassed = self.bypass.is_settled_dry();
        match bypassed {
            true => self.path.pass(channels, spot, transport),
            false => self.path.process(channels, spot, transport),
        }
        self.spot.process(spot);
        self.output.process(channels, spot);
        if let (Some(compare), false) = (&mut self.compare, bypassed) {
            compare.process(channels, &self.bypass, spot);
        }
        self.bypass.mix(channels);
        self.gate.apply(channels);
    }
}
