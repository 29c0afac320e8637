//! Compare: the untouched input in the place of what was made of it, as late and as loud.

use super::gain_ramp::GainRamp;
use super::output_stage::OutputStage;
use crate::params::Monitor;
use plumbline_dsp::delay::bypass::Bypass;
use plumbline_dsp::meters::loudness_match::LoudnessMatch;

/// The untouched input on its way to the ear. Both are measured all the time, so that the gain is known when it is asked for.
#[derive(Debug)]
pub struct Compare {
    /// Of one part of a block.
    input: [Vec<f32>; 2],
    output: OutputStage,
    loudness: LoudnessMatch,
    /// Makes the input as loud as what it replaces.
    gain: GainRamp,
    /// 0: what was made of the input is heard; 1: the input.
    share: GainRamp,
}

impl Compare {
    /// For parts of at most `longest` samples.
    pub fn new(sample_rate: f64, longest: usize) -> Self {
        Self {
            input: [0, 1].map(|_| vec![0.0; longest]),
            output: OutputStage::new(sample_rate),
            loudness: LoudnessMatch::new(sample_rate),
            gain: GainRamp::new(sample_rate, 1.0),
            share: GainRamp::new(sample_rate, 0.0),
        }
    }

    /// Both go through the same level and monitor.
    pub fn follow(&mut self, level: f32, monitor: Monitor, channels: usize) {
        self.output.follow(level, monitor, channels);
    }

    /// Fades to the input, or back.
    pub fn listen_to_input(&mut self, share: Share) {
        self.share.go_to(match share {
            Share::Processed => 0.0,
            Share::Input => 1.0,
        });
    }

    /// Takes over the gain that was measured since. Called at places of the stream that do not depend on the blocks.
    pub fn follow_loudness(&mut self) {
        if let Some(gain) = self.loudness.gain() {
            self.gain.go_to(gain as f32);
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        self.output.jump();
        self.gain.jump();
        self.share.jump();
    }

    /// Goes on with what another has measured.
    pub fn take_over(&mut self, other: &Self) {
        self.loudness.clone_from(&other.loudness);
        self.gain = other.gain;
        self.share = other.share;
    }

    /// Works on channels that come out, `dry` holding their input; `spot` is as long as they are.
    pub fn process(&mut self, channels: &mut [&mut [f32]], dry: &Bypass, spot: &[f32]) {
        let length = channels.first().map_or(0, |channel| channel.len());
        let count = channels.len().min(self.input.len());
        // Nobody hears it, and nothing is done to it: no copy is needed.
        if self.share.rests_at(0.0) && self.output.passes() {
            let dry = [dry.dry(0, length), dry.dry(1, length)];
            measure(&mut self.loudness, &dry[..count], channels);
            self.gain.pass(length);
            return;
        }
        let [first, second] = &mut self.input;
        let mut input = [&mut first[..length], &mut second[..length]];
        for (channel, input) in input[..count].iter_mut().enumerate() {
            input.copy_from_slice(dry.dry(channel, length));
        }
        self.output.process(&mut input[..count], spot);
        let input = self.input.each_ref().map(|input| &input[..length]);
        measure(&mut self.loudness, &input[..count], channels);
        self.mix(channels);
    }

    fn mix(&mut self, channels: &mut [&mut [f32]]) {
        let length = channels.first().map_or(0, |channel| channel.len());
        if self.share.rests_at(0.0) {
            self.gain.pass(length);
            return;
        }
        for n in 0..length {
            let (gain, share) = (self.gain.next(), self.share.next());
            for (channel, input) in channels.iter_mut().zip(&self.input) {
                channel[n] += share * (gain * input[n] - channel[n]);
            }
        }
    }
}

fn measure(loudness: &mut LoudnessMatch, input: &[&[f32]], made: &[&mut [f32]]) {
    match made {
        [made] => loudness.push(input, &[made]),
        [first, second] => loudness.push(input, &[first, second]),
        _ => {}
    }
}

/// What is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Share {
    /// What was made of the input.
    Processed,
    /// The input.
    Input,
}
