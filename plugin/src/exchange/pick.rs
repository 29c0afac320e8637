//! Which drum was picked by hand: by what it sounds like, or by the next four strokes.

use plumbline_dsp::measure::DrumChoice;
use plumbline_dsp::measurement::Signature;

/// Strokes that settle a drum that is picked by playing it.
pub const PICKING_HITS: u8 = 4;

/// What was picked by hand. Writer: the window, or a session that is loaded. Reader: the audio thread.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum Pick {
    /// Nothing.
    #[default]
    Nothing,
    /// The drum that sounds like this.
    Drum(Signature),
    /// The drum that the next four strokes are played on; the number tells one request from the next.
    NextHits(u32),
}

/// What the measurement is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Asked {
    /// A drum by its kind or its sound.
    Drum(DrumChoice),
    /// The drum that the next four strokes are played on, as in [`Pick::NextHits`].
    NextHits(u32),
}

/// A drum that is being picked by playing it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PickedByPlaying {
    /// As in [`Pick::NextHits`].
    pub request: u32,
    /// Strokes that are still to be played.
    pub left: u8,
}
