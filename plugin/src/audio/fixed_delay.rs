//! A fixed delay of whole samples: the spot on its way to the monitor.

/// One channel, a fixed number of samples late. Every sample leaves as it came.
#[derive(Debug)]
pub struct FixedDelay {
    ring: Vec<f32>,
    at: usize,
}

impl FixedDelay {
    /// Allocates for a delay of `samples`.
    pub fn new(samples: usize) -> Self {
        Self {
            ring: vec![0.0; samples],
            at: 0,
        }
    }

    /// Forgets what was on its way.
    pub fn reset(&mut self) {
        self.ring.fill(0.0);
        self.at = 0;
    }

    /// Exchanges `samples` for those that came in the delay's length before.
    pub fn process(&mut self, samples: &mut [f32]) {
        if self.ring.is_empty() {
            return;
        }
        let mut rest = samples;
        while !rest.is_empty() {
            let count = rest.len().min(self.ring.len() - self.at);
            let (now, later) = rest.split_at_mut(count);
            now.swap_with_slice(&mut self.ring[self.at..self.at + count]);
            self.at = (self.at + count) % self.ring.len();
            rest = later;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comes_out_exactly_the_length_later_whatever_the_block_size() {
        for (length, block) in [(0, 3), (1, 7), (5, 1), (5, 64), (64, 5)] {
            let mut delay = FixedDelay::new(length);
            let input: Vec<f32> = (1..=200).map(|i| i as f32).collect();
            let mut output = input.clone();
            output.chunks_mut(block).for_each(|b| delay.process(b));
            assert!(output[..length].iter().all(|&x| x == 0.0));
            assert_eq!(output[length..], input[..200 - length], "{length} {block}");
        }
    }
}
