//! The last moments of each channel, at the working rate, addressed by a sample count that never wraps.

use crate::channels::CHANNELS;

/// One ring a channel.
#[derive(Debug)]
pub(crate) struct History {
    rings: [Box<[f32]>; CHANNELS],
    written: u64,
}

impl History {
    /// Holds at least `samples` of each channel.
    pub(crate) fn new(samples: usize) -> Self {
        let length = samples.next_power_of_two();
        Self {
            rings: std::array::from_fn(|_| vec![0.0; length].into()),
            written: 0,
        }
    }

    pub(crate) fn reset(&mut self) {
        self.written = 0;
        self.rings.iter_mut().for_each(|ring| ring.fill(0.0));
    }

    /// Samples written since the last reset.
    pub(crate) fn written(&self) -> u64 {
        self.written
    }

    pub(crate) fn write(&mut self, frame: [f32; CHANNELS]) {
        let at = self.written as usize & (self.rings[0].len() - 1);
        for (ring, value) in self.rings.iter_mut().zip(frame) {
            ring[at] = value;
        }
        self.written += 1;
    }

    /// Copies `out.len()` samples of one channel from sample `start` on; what is too old or yet to come is silence.
    pub(crate) fn copy(&self, channel: usize, start: u64, out: &mut [f32]) {
        let ring = &self.rings[channel];
        let oldest = self.written.saturating_sub(ring.len() as u64);
        for (n, out) in (start..).zip(out) {
            let held = (oldest..self.written).contains(&n);
            *out = if held {
                ring[n as usize & (ring.len() - 1)]
            } else {
                0.0
            };
        }
    }
}
