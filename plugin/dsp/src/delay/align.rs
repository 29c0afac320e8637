//! Two channels, each delayed by any fraction of a sample: a glide of 20 ms between corrections, no clicks.

use crate::delay::delay_line::{CHUNK, DelayLine, FixedReader, clean};
use crate::delay::sinc_kernel::ReadKernel;
use crate::math::ramp::{GLIDE_S, Ramp};
use crate::plan::{MAX_DELAY_S, Plan};
use crate::units::sane_rate;

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlignSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// One or two.
    pub channels: usize,
    /// How much earlier a channel may be pulled, seconds; part of the latency.
    pub reach_s: f64,
}

impl AlignSetup {
    /// Samples from input to output when nothing is shifted: kernel + reach, whole samples.
    pub fn latency(&self) -> usize {
        let sample_rate = sane_rate(self.sample_rate);
        ReadKernel::for_rate(sample_rate).half() + whole_samples(self.reach_s, sample_rate)
    }
}

/// How one channel is moved and turned.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct ChannelShift {
    /// Shift against the recording, in samples, positive later, from minus the reach up.
    pub shift_samples: f64,
    /// Of reversed polarity.
    pub inverted: bool,
}

/// The shifts of a plan: of a pair first and second, of a mono main (`channels` = 1) the channel alone.
pub fn channel_shifts(plan: &Plan, channels: usize, sample_rate: f64) -> [ChannelShift; 2] {
    let mono = channels == 1;
    let shift = |seconds: f64, inverted: bool| ChannelShift {
        shift_samples: seconds * sample_rate,
        inverted,
    };
    [
        shift(plan.first_s, plan.flip && mono),
        shift(plan.second_s, plan.flip && !mono),
    ]
}

/// The align section of one instance: one delay line and one fixed reader a channel, a second reader while it glides.
///
/// With no shift and nothing inverted the output is the input, `latency` samples late, bit for bit: this
/// is also the dry signal of a bypass in this mode.
#[derive(Debug)]
pub struct Align {
    latency: usize,
    /// Smallest and largest shift that the lines hold, samples.
    shifts: (f64, f64),
    channels: Vec<Channel>,
    /// From each channel's `from` to its `to`.
    glide: Ramp,
}

/// One channel: the shift before the glide, the one after it, and the one asked for meanwhile.
#[derive(Debug)]
struct Channel {
    line: DelayLine,
    from: ShiftedReader,
    to: ShiftedReader,
    asked: ChannelShift,
}

/// A shift and the reader set to it.
#[derive(Clone, Debug)]
struct ShiftedReader {
    shift: ChannelShift,
    reader: FixedReader,
}

impl Align {
    /// Allocates the lines.
    pub fn new(setup: AlignSetup) -> Self {
        let sample_rate = sane_rate(setup.sample_rate);
        let kernel = ReadKernel::for_rate(sample_rate);
        let reach = whole_samples(setup.reach_s, sample_rate);
        let farthest = whole_samples(MAX_DELAY_S, sample_rate);
        let latency = setup.latency();
        let length = latency + farthest + kernel.half() + CHUNK;
        let reader = ShiftedReader {
            shift: ChannelShift::default(),
            reader: FixedReader::new(kernel, latency as f64),
        };
        let channel = || Channel {
            line: DelayLine::new(length),
            from: reader.clone(),
            to: reader.clone(),
            asked: ChannelShift::default(),
        };
        Self {
            latency,
            shifts: (-(reach as f64), farthest as f64),
            channels: (0..setup.channels).map(|_| channel()).collect(),
            glide: Ramp::new(GLIDE_S, sample_rate),
        }
    }

    /// Samples from input to output when nothing is shifted: kernel + reach, whole samples.
    pub fn latency(&self) -> usize {
        self.latency
    }

    /// True while a change of shifts is being faded in.
    pub fn is_gliding(&self) -> bool {
        self.glide.is_running()
    }

    /// Silences the lines and jumps to the last shifts asked for, without a glide.
    pub fn reset(&mut self) {
        self.glide.finish();
        for channel in &mut self.channels {
            channel.line.reset();
            channel.to.move_to(channel.asked, self.latency);
        }
    }

    /// Where each channel should be from now on; glides there in 20 ms. During a glide the last shifts asked for wait
    /// until it ends. Shifts beyond the reach or the longest delay are taken as far as they go; one that is not a
    /// number is not taken.
    pub fn set_shifts(&mut self, shifts: &[ChannelShift]) {
        for (channel, shift) in self.channels.iter_mut().zip(shifts) {
            if !shift.shift_samples.is_nan() {
                let shift_samples = shift.shift_samples.clamp(self.shifts.0, self.shifts.1);
                channel.asked = ChannelShift {
                    shift_samples,
                    ..*shift
                };
            }
        }
        self.start_glide_if_asked();
    }

    /// Works in place on `channels[c][..]`, all of one length. Non-finite samples are read as silence.
    pub fn process(&mut self, channels: &mut [&mut [f32]]) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut start = 0;
        while start < length {
            self.start_glide_if_asked();
            let end = length.min(start + self.next_chunk());
            let gains = self.glide.gains(end - start);
            for (channel, audio) in self.channels.iter_mut().zip(channels.iter_mut()) {
                channel.process(&mut audio[start..end], gains.as_ref());
            }
            start = end;
        }
    }

    /// As [`process`](Self::process) where nobody hears what comes out: the lines are filled, and the channels are left as
    /// they are.
    pub fn pass<C: AsRef<[f32]>>(&mut self, channels: &[C]) {
        let lengths = channels.iter().map(|c| c.as_ref().len());
        let length = lengths.min().unwrap_or(0);
        let mut start = 0;
        while start < length {
            self.start_glide_if_asked();
            let end = length.min(start + self.next_chunk());
            self.glide.pass(end - start);
            for (channel, audio) in self.channels.iter_mut().zip(channels) {
                channel.line.push(&audio.as_ref()[start..end]);
            }
            start = end;
        }
    }

    /// Samples to work on before the next change can start.
    fn next_chunk(&self) -> usize {
        match self.glide.remaining() {
            0 => CHUNK,
            remaining => CHUNK.min(remaining),
        }
    }

    fn start_glide_if_asked(&mut self) {
        let waiting = self.channels.iter().any(|c| c.asked != c.to.shift);
        if self.glide.is_running() || !waiting {
            return;
        }
        for channel in &mut self.channels {
            channel.from = channel.to.clone();
            channel.to.move_to(channel.asked, self.latency);
        }
        self.glide.start();
    }
}

impl Channel {
    /// `gains` of the new shift against the old one, while it glides.
    fn process(&mut self, audio: &mut [f32], gains: Option<&[f32; CHUNK]>) {
        self.line.push(audio);
        self.to.read(&self.line, audio);
        let Some(gains) = gains.filter(|_| self.to.shift != self.from.shift) else {
            return;
        };
        let mut from = [0.0; CHUNK];
        let from = &mut from[..audio.len()];
        self.from.read(&self.line, from);
        for ((to, &mut from), gain) in audio.iter_mut().zip(from).zip(gains) {
            *to = clean(from + gain * (*to - from));
        }
    }
}

impl ShiftedReader {
    fn move_to(&mut self, shift: ChannelShift, latency: usize) {
        self.shift = shift;
        self.reader.set_delay(latency as f64 + shift.shift_samples);
    }

    fn read(&self, line: &DelayLine, out: &mut [f32]) {
        self.reader.read(line, out);
        if self.shift.inverted {
            out.iter_mut().for_each(|sample| *sample = -*sample);
        }
    }
}

fn whole_samples(seconds: f64, sample_rate: f64) -> usize {
    // A 30 ms reach at 48 kHz is 1440 samples whatever the last bit of the product says.
    (seconds.clamp(0.0, 1.0) * sample_rate - 1e-6)
        .ceil()
        .max(0.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;

    fn setup(reach_s: f64) -> AlignSetup {
        AlignSetup {
            sample_rate: 48_000.0,
            channels: 2,
            reach_s,
        }
    }

    /// Places for both channels: `shift` for the first, `second` for the second.
    fn both(first: f64, second: ChannelShift) -> [ChannelShift; 2] {
        let shift_samples = first;
        let first = ChannelShift {
            shift_samples,
            inverted: false,
        };
        [first, second]
    }

    fn inverted(shift_samples: f64) -> ChannelShift {
        ChannelShift {
            shift_samples,
            inverted: true,
        }
    }

    #[test]
    fn at_rest_it_is_the_latency_bit_for_bit() {
        let mut align = Align::new(setup(0.010));
        assert_eq!(align.latency(), 32 + 480);
        let input = noise(4000, 1);
        let (mut a, mut b) = (input.clone(), input.clone());
        align.process(&mut [&mut a, &mut b]);
        assert_eq!(a[512..], input[..4000 - 512]);
        assert_eq!(b, a);
    }

    #[test]
    fn whole_shifts_and_polarity_are_exact_from_the_whole_reach_to_the_longest_delay() {
        for shift in [-480i32, -1, 0, 7, 2880] {
            let mut align = Align::new(setup(0.010));
            align.set_shifts(&both(f64::from(shift), inverted(f64::from(shift))));
            align.reset();
            let input = noise(5000, 2);
            let (mut a, mut b) = (input.clone(), input.clone());
            align.process(&mut [&mut a, &mut b]);
            let late = (512 + shift) as usize;
            assert_eq!(a[late..], input[..5000 - late], "shift {shift}");
            assert!(b.iter().zip(&a).all(|(b, a)| *b == -*a));
        }
    }

    #[test]
    fn any_split_of_the_blocks_gives_the_same_bits() {
        let run = |split: &mut dyn FnMut() -> usize| {
            let mut align = Align::new(setup(0.005));
            let (mut a, mut b) = (noise(9000, 3), noise(9000, 4));
            let mut at = 0;
            while at < 9000 {
                // Changes at fixed sample positions, the second one inside the first one's glide.
                let next_change = [1000, 1300, 5000, 9000].into_iter().find(|c| *c > at);
                match at {
                    1000 => align.set_shifts(&both(3.3, inverted(-7.7))),
                    1300 => align.set_shifts(&both(-0.5, inverted(12.25))),
                    5000 => align.set_shifts(&[ChannelShift::default(); 2]),
                    _ => {}
                }
                let end = next_change.unwrap().min(at + split());
                align.process(&mut [&mut a[at..end], &mut b[at..end]]);
                at = end;
            }
            [a, b].concat()
        };
        let whole = run(&mut || 9000);
        let mut random = fastrand::Rng::with_seed(9);
        for split in [1, 7, 64, 480, 4096] {
            assert!(run(&mut || split) == whole, "blocks of {split}");
        }
        assert!(run(&mut || random.usize(1..=512)) == whole, "random blocks");
    }

    #[test]
    fn a_change_during_a_glide_waits_and_only_the_last_one_is_kept() {
        let mut align = Align::new(setup(0.0));
        let (mut a, mut b) = (vec![0.0; 100], vec![0.0; 100]);
        align.set_shifts(&both(10.0, ChannelShift::default()));
        align.process(&mut [&mut a, &mut b]);
        align.set_shifts(&both(20.0, ChannelShift::default()));
        align.set_shifts(&both(30.0, ChannelShift::default()));
        let (mut a, mut b) = (noise(3000, 5), vec![0.0; 3000]);
        let input = a.clone();
        align.process(&mut [&mut a, &mut b]);
        assert!(!align.is_gliding());
        assert_eq!(a[2500..], input[2500 - 62..3000 - 62]);
    }

    #[test]
    fn not_numbers_are_silence_and_nothing_subnormal_comes_out() {
        let mut align = Align::new(setup(0.001));
        align.set_shifts(&both(0.37, inverted(1e300)));
        align.set_shifts(&both(f64::NAN, inverted(f64::NAN)));
        let (mut a, mut b) = (noise(4000, 6), noise(4000, 7));
        for (index, value) in [f32::NAN, f32::INFINITY, -f32::INFINITY, 1e-40, f32::MAX]
            .into_iter()
            .enumerate()
        {
            a[index * 100] = value;
        }
        b[1000..].iter_mut().for_each(|x| *x *= 1e-28);
        align.process(&mut [&mut a, &mut b]);
        assert!(a.iter().chain(&b).all(|x| *x == 0.0 || x.is_normal()));
    }

    #[test]
    fn empty_blocks_missing_and_extra_channels_are_harmless() {
        let mut align = Align::new(setup(0.0));
        align.process(&mut []);
        align.process(&mut [&mut [], &mut []]);
        align.process(&mut [&mut [1.0; 10]]);
        align.process(&mut [&mut [1.0; 10], &mut [1.0; 10], &mut [1.0; 10]]);
        align.set_shifts(&[]);
    }

    #[test]
    fn absurd_rates_are_taken_as_the_nearest_sane_one() {
        for sample_rate in [f64::NAN, 0.0, 8_000.0, 44_100.0, 768_000.0, 1e12] {
            let mut align = Align::new(AlignSetup {
                sample_rate,
                channels: 1,
                reach_s: 0.030,
            });
            align.set_shifts(&[inverted(1e9)]);
            let mut audio = vec![1.0; 3000];
            align.process(&mut [&mut audio]);
            assert!(audio.iter().all(|x| x.is_finite()));
        }
    }
}
