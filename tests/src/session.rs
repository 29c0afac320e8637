//! What a host decides before an instance works: rate, block length, layout, kind of render.

/// What a host decides before it makes an instance work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// Samples a second.
    pub sample_rate: f64,
    /// Longest block, samples.
    pub max_block: u32,
    pub layout: Layout,
    /// An offline render: the analysis runs inline.
    pub offline: bool,
}

impl Default for Session {
    /// 48 kHz, blocks of up to 512, a pair with a stereo spot, in real time.
    fn default() -> Self {
        Self {
            sample_rate: 48_000.0,
            max_block: 512,
            layout: Layout::StereoSpotStereo,
            offline: false,
        }
    }
}

/// Buses of the plugin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    StereoSpotStereo,
    StereoSpotMono,
    MonoSpotMono,
    MonoSpotStereo,
    Stereo,
    Mono,
}

impl Layout {
    /// Every layout, in the plugin's order.
    pub const ALL: [Self; 6] = [
        Self::StereoSpotStereo,
        Self::StereoSpotMono,
        Self::MonoSpotMono,
        Self::MonoSpotStereo,
        Self::Stereo,
        Self::Mono,
    ];

    /// Main channels, and spot channels: 0 without a spot.
    pub fn channels(self) -> (usize, usize) {
        match self {
            Self::StereoSpotStereo => (2, 2),
            Self::StereoSpotMono => (2, 1),
            Self::MonoSpotMono => (1, 1),
            Self::MonoSpotStereo => (1, 2),
            Self::Stereo => (2, 0),
            Self::Mono => (1, 0),
        }
    }

    /// Its name in the plugin's list.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::StereoSpotStereo => "Stereo, stereo spot",
            Self::StereoSpotMono => "Stereo, mono spot",
            Self::MonoSpotMono => "Mono, mono spot",
            Self::MonoSpotStereo => "Mono, stereo spot",
            Self::Stereo => "Stereo",
            Self::Mono => "Mono",
        }
    }
}
