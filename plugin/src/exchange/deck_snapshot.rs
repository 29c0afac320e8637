//! What the editor shows of the decks: where the moving one is, and whether the host's transport rolls.

use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::song_position::Transport;

/// Whether the host's transport rolls.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum TransportState {
    #[default]
    Stopped,
    Rolling,
}

impl TransportState {
    /// Of a block.
    pub fn of(transport: Transport) -> Self {
        match transport {
            Transport::Running(_) => Self::Rolling,
            Transport::Stopped => Self::Stopped,
        }
    }
}

/// A copy of the decks' state for the editor.
///
/// Writer: the audio thread, once a block while a window is open. Reader: the editor.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct DeckSnapshot {
    /// Where the moving deck is; `None` in a mode without decks.
    pub deck: Option<DeckState>,
    pub transport: TransportState,
}

impl DeckSnapshot {
    /// True when nothing but the time has changed since `other`.
    pub fn shows_the_same_as(&self, other: &Self) -> bool {
        let position = |snapshot: &Self| snapshot.deck.map(|deck| (deck.offset_s, deck.cue));
        self.transport == other.transport && position(self) == position(other)
    }
}
