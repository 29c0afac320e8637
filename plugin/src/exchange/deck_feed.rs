//! The audio thread's way to an open window: where the moving deck is.

use super::deck_snapshot::{DeckSnapshot, TransportState};
use super::display::Display;
use super::triple_buffer::TripleBufferWriter;
use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::song_position::Transport;
use std::sync::Arc;

/// Writer: the audio thread, once a block. Reader: the editor.
pub struct DeckFeed {
    snapshots: TripleBufferWriter<DeckSnapshot>,
    display: Arc<dyn Display>,
    /// What the open window was shown last.
    shown: DeckSnapshot,
}

impl DeckFeed {
    /// Where snapshots go, and who shows them.
    pub fn new(snapshots: TripleBufferWriter<DeckSnapshot>, display: Arc<dyn Display>) -> Self {
        Self {
            snapshots,
            display,
            shown: DeckSnapshot::default(),
        }
    }

    /// Shows where the moving deck is, when a window is open and there is news: the deck has moved, or the song has.
    /// `deck` is asked only then. Wait-free.
    pub fn show(&mut self, deck: impl FnOnce() -> Option<DeckState>, transport: Transport) {
        if !self.display.is_open() {
            // A window that opens is shown everything anew.
            self.shown = DeckSnapshot::default();
            return;
        }
        let (deck, transport) = (deck(), TransportState::of(transport));
        let snapshot = DeckSnapshot { deck, transport };
        let rolls = deck.is_some() && transport == TransportState::Rolling;
        if rolls || !snapshot.shows_the_same_as(&self.shown) {
            self.shown = snapshot;
            self.snapshots.write(snapshot);
            self.display.request_repaint();
        }
    }
}
