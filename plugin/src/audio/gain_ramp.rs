//! A linear gain ramp, the same whatever the block size.

/// Time of every ramp of the shell: switching, level, monitor. 10 ms: no click, and still felt as at once
/// (common practice, no source).
const RAMP_S: f64 = 0.010;

/// Samples whose gains are worked out in one go.
const PASS: usize = 64;

/// A gain on its way to a target, by even steps that depend on the count of samples alone.
#[derive(Clone, Copy, Debug)]
pub struct GainRamp {
    from: f32,
    target: f32,
    step: f32,
    /// Samples of the present ramp that have gone by, and of a whole one.
    done: i32,
    length: i32,
}

impl GainRamp {
    /// Stands at `value`.
    pub fn new(sample_rate: f64, value: f32) -> Self {
        let length = (RAMP_S * sample_rate).ceil().max(1.0) as i32;
        Self {
            from: value,
            target: value,
            step: 0.0,
            done: length,
            length,
        }
    }

    /// Starts towards `target`; the same target again changes nothing.
    pub fn go_to(&mut self, target: f32) {
        if target != self.target {
            self.from = self.value();
            self.target = target;
            self.step = (target - self.from) / self.length as f32;
            self.done = 0;
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        self.done = self.length;
    }

    /// The next sample's value. Arrives exactly.
    pub fn next(&mut self) -> f32 {
        self.pass(1);
        self.value()
    }

    /// So many samples that nobody asks for.
    pub fn pass(&mut self, samples: usize) {
        self.done += samples.min(self.left()) as i32;
    }

    /// Scales channels of one length in place, all alike. Unity passes bit for bit.
    pub fn apply(&mut self, channels: &mut [&mut [f32]]) {
        if self.rests_at(1.0) {
            return;
        }
        let length = channels.first().map_or(0, |channel| channel.len());
        for start in (0..length).step_by(PASS) {
            let gains = self.gains();
            let end = length.min(start + PASS);
            for channel in channels.iter_mut() {
                let samples = channel[start..end].iter_mut();
                samples
                    .zip(&gains)
                    .for_each(|(sample, gain)| *sample *= gain);
            }
            self.pass(end - start);
        }
    }

    /// Arrived, and standing at `value`.
    pub fn rests_at(&self, value: f32) -> bool {
        self.left() == 0 && self.target == value
    }

    /// Samples until it arrives.
    fn left(&self) -> usize {
        (self.length - self.done) as usize
    }

    /// Of the last sample.
    fn value(&self) -> f32 {
        self.at(self.done)
    }

    /// Of the next samples.
    fn gains(&self) -> [f32; PASS] {
        std::array::from_fn(|n| self.at(self.done + 1 + n as i32))
    }

    /// After so many samples of the ramp.
    #[inline(always)]
    fn at(&self, done: i32) -> f32 {
        match done < self.length {
            true => self.from + self.step * done as f32,
            false => self.target,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_arrives_exactly_and_the_same_whatever_the_blocks() {
        let run = |block: usize| {
            let mut ramp = GainRamp::new(48_000.0, 0.25);
            let mut samples = vec![1.0f32; 1920];
            for (n, samples) in samples.chunks_mut(block).enumerate() {
                // Turned round on its way, at sample 240.
                match n * block {
                    0 => ramp.go_to(0.9),
                    240 => ramp.go_to(0.1),
                    _ => {}
                }
                ramp.apply(&mut [samples]);
            }
            samples
        };
        let whole = run(240);
        assert_eq!(run(1), whole);
        assert_eq!(run(80), whole);
        assert_eq!(whole[239], 0.25 + (0.9 - 0.25) / 480.0 * 240.0);
        assert!(whole[718] > 0.1 && whole[719..].iter().all(|gain| *gain == 0.1));
    }

    #[test]
    fn one_by_one_it_is_what_it_is_in_a_block() {
        let mut ramp = GainRamp::new(48_000.0, 1.0);
        ramp.go_to(-0.3);
        let mut passed = ramp;
        let mut samples = [1.0; 100];
        let each: Vec<f32> = (0..100).map(|_| ramp.next()).collect();
        passed.apply(&mut [&mut samples]);
        assert_eq!(samples[..], each);
    }
}
