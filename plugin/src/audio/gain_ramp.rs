//! A linear gain ramp, the same whatever the block size.

/// Time of every ramp of the shell: switching, level, monitor. 10 ms: no click, and still felt as at once
/// (common practice, no source).
const RAMP_S: f64 = 0.010;

/// A gain on its way to a target. Moves one step a sample.
#[derive(Clone, Copy, Debug)]
pub struct GainRamp {
    value: f32,
    target: f32,
    step: f32,
    steps_left: u32,
    /// Samples of one ramp.
    length: u32,
}

impl GainRamp {
    /// Stands at `value`.
    pub fn new(sample_rate: f64, value: f32) -> Self {
        Self {
            value,
            target: value,
            step: 0.0,
            steps_left: 0,
            length: (RAMP_S * sample_rate).ceil().max(1.0) as u32,
        }
    }

    /// Starts towards `target`; the same target again changes nothing.
    pub fn go_to(&mut self, target: f32) {
        if target != self.target {
            self.target = target;
            self.steps_left = self.length;
            self.step = (target - self.value) / self.length as f32;
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        self.value = self.target;
        self.steps_left = 0;
    }

    /// The next sample's value. Arrives exactly.
    pub fn next(&mut self) -> f32 {
        match self.steps_left {
            0 => {}
            1 => self.jump(),
            _ => {
                self.value += self.step;
                self.steps_left -= 1;
            }
        }
        self.value
    }

    /// So many samples that nobody asks for.
    pub fn pass(&mut self, samples: usize) {
        for _ in 0..samples.min(self.steps_left as usize) {
            self.next();
        }
    }

    /// Scales channels of one length in place, all alike. Unity passes bit for bit.
    pub fn apply(&mut self, channels: &mut [&mut [f32]]) {
        if self.rests_at(1.0) {
            return;
        }
        let length = channels.first().map_or(0, |channel| channel.len());
        for i in 0..length {
            let gain = self.next();
            for channel in channels.iter_mut() {
                channel[i] *= gain;
            }
        }
    }

    /// Arrived, and standing at `value`.
    pub fn rests_at(&self, value: f32) -> bool {
        self.steps_left == 0 && self.value == value
    }
}
