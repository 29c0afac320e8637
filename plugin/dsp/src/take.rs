//! One hit as it was heard: its audio, its wavefronts and what it sounds like.

use crate::arrivals::{Pick, Picks};
use crate::fronts::Fronts;
use crate::history::CHANNELS;
use crate::median::median;

/// What is kept of one counted hit.
#[derive(Debug)]
pub(crate) struct Take {
    /// Order of arrival, for the log and for forgetting the oldest.
    pub order: u64,
    /// Seconds since the stream began.
    pub at_s: f64,
    /// Audio of first, second, spot, all from the same moment.
    pub audio: [Box<[f32]>; CHANNELS],
    /// Every jump of each channel, in the audio's samples.
    pub fronts: [Fronts; CHANNELS],
    /// Where each channel's picks were looked for, in the audio's samples.
    pub looked_at: [Option<f64>; CHANNELS],
    /// Picks in the audio's samples.
    pub picks: [Picks; CHANNELS],
    /// Energy of 2-9 kHz to 60-1000 Hz in the spot, dB: tells drums apart.
    pub brightness_db: f64,
    /// Energy of the spot to the overheads', dB: tells how close the drum is.
    pub closeness_db: f64,
    /// Level of 200 Hz to 9 kHz in the spot: tells how loud the drum is to the ear.
    pub loudness: f64,
    /// Index of the voice it was sorted to.
    pub voice: u8,
}

impl Take {
    pub(crate) fn new(samples: usize) -> Self {
        Self {
            order: 0,
            at_s: 0.0,
            audio: std::array::from_fn(|_| vec![0.0; samples].into()),
            fronts: Default::default(),
            looked_at: Default::default(),
            picks: Default::default(),
            brightness_db: 0.0,
            closeness_db: 0.0,
            loudness: 0.0,
            voice: 0,
        }
    }

    /// The first front in a channel: the middle one of its picks, in samples of the audio.
    pub(crate) fn front(&self, channel: usize) -> Option<f64> {
        let mut at = [0.0; crate::arrivals::PICKS];
        let count = gather(
            self.picks[channel].iter().flatten().map(|pick| pick.at),
            &mut at,
        );
        median(&mut at[..count])
    }

    /// The middle one of the same pickers' differences, `to` minus `from`, in samples.
    pub(crate) fn lag(&self, from: usize, to: usize) -> Option<f64> {
        let mut lags = [0.0; crate::arrivals::PICKS];
        let count = gather(self.lags(from, to).flatten(), &mut lags);
        median(&mut lags[..count])
    }

    /// Each picker's difference, in the pickers' order.
    pub(crate) fn lags(&self, from: usize, to: usize) -> impl Iterator<Item = Option<f64>> + '_ {
        let pairs = self.picks[from].iter().zip(&self.picks[to]);
        pairs.map(|(a, b)| Some(b.as_ref()?.at - a.as_ref()?.at))
    }

    /// Each picker's opinion whether the two fronts push the same way.
    pub(crate) fn same_way(&self, from: usize, to: usize) -> impl Iterator<Item = bool> + '_ {
        let both = |(a, b): (&Option<Pick>, &Option<Pick>)| {
            Some(a.as_ref()?.positive == b.as_ref()?.positive)
        };
        self.picks[from]
            .iter()
            .zip(&self.picks[to])
            .filter_map(both)
    }
}

/// Fills `out` from the front; how many there were room for.
pub(crate) fn gather(values: impl Iterator<Item = f64>, out: &mut [f64]) -> usize {
    out.iter_mut()
        .zip(values)
        .map(|(out, value)| *out = value)
        .count()
}
