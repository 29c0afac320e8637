//! The spot mixed into the pair: its own delay, polarity and gain, added to every main channel alike.

use crate::delay::align::{Align, AlignSetup, ChannelShift};
use crate::delay::delay_line::{CHUNK, clean};
use crate::math::ramp::{GLIDE_S, Ramp};
use crate::plan::{MAX_DELAY_S, SpotPlan};
use crate::units::sane_rate;

/// Fixed at creation. The spot comes out as late as a pair from an [`Align`] of the same rate and reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpotMixSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// How much earlier the spot may be pulled, seconds; part of the latency.
    pub reach_s: f64,
}

/// The spot's shift in a plan.
pub fn spot_shift(plan: &SpotPlan, sample_rate: f64) -> ChannelShift {
    ChannelShift {
        shift_samples: plan.shift_s * sample_rate,
        inverted: plan.flip,
    }
}

/// One spot on its way into the pair. Off (a settled gain of 0) it touches nothing and does no work.
#[derive(Debug)]
pub struct SpotMix {
    reader: Align,
    gain: GainGlide,
    /// Samples after which the reader's line is full wherever it is read.
    fill: usize,
    flow: Flow,
}

/// Whether the spot flows through the delay line.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Flow {
    /// Nothing is read and nothing is added: the line holds old audio.
    Off,
    /// The line is filled, and nothing is added yet: a fade-in from a line that is half empty would start with a step.
    Filling {
        /// Samples until it is full.
        left: usize,
    },
    /// The spot is added.
    On,
}

/// A gain on a smooth way from one value to another. What is asked for meanwhile waits until it has arrived.
#[derive(Clone, Copy, Debug)]
struct GainGlide {
    from: f32,
    to: f32,
    asked: f32,
    ramp: Ramp,
}

impl SpotMix {
    /// Allocates the line. Off.
    pub fn new(setup: SpotMixSetup) -> Self {
        let sample_rate = sane_rate(setup.sample_rate);
        let reader = Align::new(AlignSetup {
            sample_rate,
            channels: 1,
            reach_s: setup.reach_s,
        });
        let farthest = (MAX_DELAY_S * sample_rate).ceil() as usize;
        Self {
            // The latency holds half a kernel; so much again for the older half.
            fill: 2 * reader.latency() + farthest,
            reader,
            gain: GainGlide::new(sample_rate),
            flow: Flow::Off,
        }
    }

    /// Samples from spot to output when it is not shifted.
    pub fn latency(&self) -> usize {
        self.reader.latency()
    }

    /// Where the spot should be from now on; glides there in 20 ms, as [`Align::set_shifts`].
    pub fn set_shift(&mut self, shift: ChannelShift) {
        self.reader.set_shifts(&[shift]);
    }

    /// Amplitude of the spot in the print from now on, 0 to switch it off; glides there in 20 ms. From off it fades in when
    /// the delay line is full. What is not a number is not taken.
    pub fn set_gain(&mut self, gain: f64) {
        if gain.is_finite() {
            self.gain.asked = clean(gain.max(0.0) as f32);
        }
    }

    /// Forgets the audio and jumps to the last shift and gain asked for, without a glide.
    pub fn reset(&mut self) {
        self.reader.reset();
        self.gain.finish();
        self.flow = match self.gain.is_off() {
            true => Flow::Off,
            false => Flow::On,
        };
    }

    /// Adds to `channels[c][..]`, all as long as `spot`. Samples of the spot that are not finite are silence.
    pub fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32]) {
        let mains = channels.iter().map(|channel| channel.len());
        let length = mains.fold(spot.len(), usize::min);
        let mut start = 0;
        while start < length {
            self.turn_on_or_off();
            if self.flow == Flow::Off {
                return;
            }
            let end = length.min(start + self.next_chunk());
            let mut part = [0.0; CHUNK];
            let part = &mut part[..end - start];
            part.copy_from_slice(&spot[start..end]);
            self.read(part);
            for channel in channels.iter_mut() {
                add(&mut channel[start..end], part);
            }
            start = end;
        }
    }

    /// Takes over the gain that is asked for, where nothing is under way.
    fn turn_on_or_off(&mut self) {
        if self.flow == Flow::Off && self.gain.asked > 0.0 {
            self.reader.reset();
            self.flow = Flow::Filling { left: self.fill };
        }
        if self.flow == (Flow::Filling { left: 0 }) {
            self.flow = Flow::On;
        }
        if self.flow == Flow::On {
            self.gain.start_if_asked();
            if self.gain.is_off() {
                self.flow = Flow::Off;
            }
        }
    }

    /// Samples to work on before the next change can start.
    fn next_chunk(&self) -> usize {
        let until_change = match self.flow {
            Flow::Filling { left } => left,
            _ => match self.gain.ramp.remaining() {
                0 => CHUNK,
                remaining => remaining,
            },
        };
        CHUNK.min(until_change)
    }

    /// Exchanges a chunk of the spot for what is to be added.
    fn read(&mut self, part: &mut [f32]) {
        self.reader.process(&mut [part]);
        match &mut self.flow {
            Flow::Filling { left } => {
                *left -= part.len();
                part.fill(0.0);
            }
            _ => self.gain.apply(part),
        }
    }
}

impl GainGlide {
    fn new(sample_rate: f64) -> Self {
        Self {
            from: 0.0,
            to: 0.0,
            asked: 0.0,
            ramp: Ramp::new(GLIDE_S, sample_rate),
        }
    }

    /// Arrives at once at what was asked for last.
    fn finish(&mut self) {
        self.to = self.asked;
        self.ramp.finish();
    }

    fn start_if_asked(&mut self) {
        if !self.ramp.is_running() && self.asked != self.to {
            self.from = self.to;
            self.to = self.asked;
            self.ramp.start();
        }
    }

    /// Settled at 0.
    fn is_off(&self) -> bool {
        !self.ramp.is_running() && self.to == 0.0
    }

    /// Scales; unity passes bit for bit.
    fn apply(&mut self, part: &mut [f32]) {
        if !self.ramp.is_running() {
            part.iter_mut().for_each(|sample| *sample *= self.to);
            return;
        }
        for sample in part {
            *sample *= self.from + self.ramp.step() * (self.to - self.from);
        }
    }
}

fn add(channel: &mut [f32], part: &[f32]) {
    for (channel, part) in channel.iter_mut().zip(part) {
        *channel = clean(*channel + part);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;

    const RATE: f64 = 48_000.0;

    fn mix(reach_s: f64) -> SpotMix {
        SpotMix::new(SpotMixSetup {
            sample_rate: RATE,
            reach_s,
        })
    }

    fn reversed(shift_samples: f64) -> ChannelShift {
        ChannelShift {
            shift_samples,
            inverted: true,
        }
    }

    #[test]
    fn off_touches_nothing_and_works_nothing() {
        let mut mix = mix(0.0);
        mix.set_shift(reversed(3.3));
        // Subnormal, minus zero and not a number stay as they are.
        let mut first = [f32::NAN, -0.0, 1e-40, 0.5];
        mix.process(&mut [&mut first], &[1.0; 4]);
        assert_eq!(
            first.map(f32::to_bits)[1..],
            [-0.0, 1e-40, 0.5].map(f32::to_bits)
        );
        assert!(first[0].is_nan());
        assert_eq!(mix.flow, Flow::Off);
    }

    #[test]
    fn whole_shifts_come_in_bit_for_bit_as_late_as_the_pair() {
        for shift in [-480i32, 0, 7, 2880] {
            let mut mix = mix(0.010);
            assert_eq!(mix.latency(), 512);
            mix.set_shift(reversed(f64::from(shift)));
            mix.set_gain(1.0);
            mix.reset();
            let spot = noise(5000, 1);
            let (mut first, mut second) = (vec![0.0; 5000], vec![0.0; 5000]);
            mix.process(&mut [&mut first, &mut second], &spot);
            let late = (512 + shift) as usize;
            let same = first[late..].iter().zip(&spot).all(|(y, x)| *y == -*x);
            assert!(same && first == second, "shift {shift}");
        }
    }

    #[test]
    fn any_split_of_the_blocks_gives_the_same_bits() {
        let run = |split: &mut dyn FnMut() -> usize| {
            let mut mix = mix(0.002);
            let (mut a, mut b, spot) = (noise(20_000, 3), noise(20_000, 4), noise(20_000, 5));
            let mut at = 0;
            while at < 20_000 {
                // On while off, moved while it fills, changed inside a glide, off inside one, on again at once, off for good.
                let changes = [500, 900, 6_000, 6_300, 9_000, 9_100, 9_961, 14_000, 20_000];
                match at {
                    500 => mix.set_gain(0.7),
                    900 => mix.set_shift(reversed(-7.7)),
                    6_000 => mix.set_gain(0.2),
                    6_300 | 9_100 => mix.set_shift(reversed(100.0)),
                    9_000 | 14_000 => mix.set_gain(0.0),
                    9_961 => mix.set_gain(1.4),
                    _ => {}
                }
                let next_change = changes.into_iter().find(|change| *change > at);
                let end = next_change.unwrap().min(at + split());
                mix.process(&mut [&mut a[at..end], &mut b[at..end]], &spot[at..end]);
                at = end;
            }
            [a, b].concat()
        };
        let whole = run(&mut || 20_000);
        let mut random = fastrand::Rng::with_seed(9);
        for split in [1, 7, 64, 480, 512, 4096] {
            assert!(run(&mut || split) == whole, "blocks of {split}");
        }
        assert!(run(&mut || random.usize(1..=512)) == whole, "random blocks");
    }

    #[test]
    fn after_off_it_starts_with_a_fresh_line_and_leaves_the_pair_alone() {
        let mut mix = mix(0.0);
        let run = |mix: &mut SpotMix, level: f32| {
            let mut first = vec![0.0; 10_000];
            mix.process(&mut [&mut first], &vec![level; 10_000]);
            first
        };
        mix.set_gain(1.0);
        let first = run(&mut mix, 0.5);
        assert_eq!(first[9_999], 0.5);
        mix.set_gain(0.0);
        assert_eq!(run(&mut mix, 0.5)[960..], vec![0.0; 9_040]);
        assert_eq!(mix.flow, Flow::Off);
        mix.set_gain(1.0);
        let again = run(&mut mix, 0.25);
        assert!(
            again.iter().all(|y| *y <= 0.25),
            "nothing of what was before"
        );
        assert_eq!(again[9_999], 0.25);
    }

    #[test]
    fn absurd_input_and_numbers_are_harmless() {
        for sample_rate in [f64::NAN, 0.0, 8_000.0, 768_000.0] {
            let mut mix = SpotMix::new(SpotMixSetup {
                sample_rate,
                reach_s: 0.030,
            });
            mix.set_gain(2.0);
            mix.set_gain(f64::NAN);
            mix.set_gain(f64::INFINITY);
            mix.set_shift(reversed(1e300));
            mix.reset();
            let mut spot = noise(3_000, 6);
            spot[10] = f32::NAN;
            spot[20] = f32::NEG_INFINITY;
            spot[500..].iter_mut().for_each(|x| *x *= 1e-28);
            let mut first = vec![0.0; 3_000];
            mix.process(&mut [&mut first], &spot);
            assert!(first.iter().all(|x| *x == 0.0 || x.is_normal()));
            mix.process(&mut [], &spot);
            mix.process(&mut [&mut []], &[]);
            mix.process(&mut [&mut [1.0; 10]], &[1.0; 3]);
        }
    }
}
