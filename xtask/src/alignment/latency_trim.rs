//! The plugin's latency taken out of what it returns: what leaves it before the first input sample is dropped.

/// Drops the first samples of a stream.
#[derive(Clone, Copy, Debug)]
pub struct LatencyTrim {
    latency: usize,
    /// Samples still to drop.
    left: usize,
}

impl LatencyTrim {
    /// For a plugin of so many samples of latency.
    pub fn new(latency: usize) -> Self {
        Self {
            latency,
            left: latency,
        }
    }

    /// Samples that are dropped in all.
    pub fn latency(&self) -> usize {
        self.latency
    }

    /// What of a block belongs to the take.
    pub fn trim<'a>(&mut self, pair: [&'a [f32]; 2]) -> [&'a [f32]; 2] {
        let drop = self.left.min(pair[0].len());
        self.left -= drop;
        pair.map(|channel| &channel[drop..])
    }
}
