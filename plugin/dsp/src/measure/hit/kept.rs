//! One hit as it was heard: its audio, its wavefronts and what it sounds like.

use crate::channels::CHANNELS;
use crate::math::robust::Weighed;
use crate::measure::hit::onset::{Pick, Picks};
use crate::measure::hit::picks;

/// Most takes that are kept.
pub(crate) const MAX_TAKES: usize = 48;

/// What is kept of one counted hit.
#[derive(Debug)]
pub(crate) struct Take {
    /// Order of arrival, for the log and for forgetting the oldest.
    pub order: u64,
    /// Hits that it stands for: itself, and older ones of its voice that had to go.
    pub stands_for: u32,
    /// Audio of first, second, spot, all from the same moment.
    pub audio: [Box<[f32]>; CHANNELS],
    /// Level curves of the attack band.
    pub levels: [Box<[f32]>; CHANNELS],
    /// Order of the take that it was laid over.
    pub laid_on: Option<u64>,
    /// How much later its body begins than that one's, in samples.
    pub later: f64,
    /// How much later it begins than its voice's middle take, in samples: its front where most have a clear one, else its body.
    pub shift: f64,
    /// Number of the last fit that it was part of.
    pub fitted: Option<u64>,
    /// A clear front in the spot, and where it was looked for: where the voice's bodies say. In the audio's samples.
    pub begin: Option<f64>,
    pub begin_looked_at: Option<f64>,
    /// Where each channel's picks were looked for, in the audio's samples.
    pub looked_at: [Option<f64>; CHANNELS],
    /// Picks in the audio's samples.
    pub picks: [Picks; CHANNELS],
    /// Energy of 2-9 kHz to 60-1000 Hz in the spot, dB: tells drums apart.
    pub brightness_db: f64,
    /// Energy of the first mode below to above 130 Hz in the spot, dB: tells low drums apart, hats or not.
    pub depth_db: f64,
    /// Energy of the spot to the overheads', dB: tells how close the drum is.
    pub closeness_db: f64,
    /// Energy of 2 to 9 kHz in the spot, where the ear is keenest.
    pub loudness: f64,
    /// Index of the voice it was sorted to.
    pub voice: u8,
}

impl Take {
    pub(crate) fn new(samples: usize, steps: usize) -> Self {
        Self {
            order: 0,
            stands_for: 1,
            audio: std::array::from_fn(|_| vec![0.0; samples].into()),
            levels: std::array::from_fn(|_| vec![0.0; steps].into()),
            laid_on: None,
            later: 0.0,
            shift: 0.0,
            fitted: None,
            begin: None,
            begin_looked_at: None,
            looked_at: Default::default(),
            picks: Default::default(),
            brightness_db: 0.0,
            depth_db: 0.0,
            closeness_db: 0.0,
            loudness: 0.0,
            voice: 0,
        }
    }

    /// Another hit's audio has been written: nothing is known of it yet.
    pub(crate) fn begin(&mut self, order: u64) {
        (self.order, self.stands_for) = (order, 1);
        (self.laid_on, self.later, self.shift) = (None, 0.0, 0.0);
        self.fitted = None;
        (self.begin, self.begin_looked_at) = (None, None);
        self.looked_at = Default::default();
        self.picks = Default::default();
    }

    /// The first front in a channel, in samples of the audio.
    pub(crate) fn front(&self, channel: usize) -> Option<f64> {
        picks::front(&self.picks[channel])
    }

    /// How much later the front is in `to` than in `from`, in samples.
    pub(crate) fn lag(&self, from: usize, to: usize) -> Option<f64> {
        self.weighed_lag(from, to).map(|lag| lag.0)
    }

    /// The same, and how much it counts.
    pub(crate) fn weighed_lag(&self, from: usize, to: usize) -> Option<Weighed> {
        picks::lag(&self.picks[from], &self.picks[to])
    }

    /// The same of each picker, in the pickers' order.
    pub(crate) fn lags(
        &self,
        from: usize,
        to: usize,
    ) -> impl Iterator<Item = Option<Weighed>> + '_ {
        picks::lags(&self.picks[from], &self.picks[to])
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
