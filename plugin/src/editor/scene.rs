//! What one instance shows, and the audio thread's way to it.

use crate::exchange::{
    DeckSnapshot, Display, PairSnapshot, Telemetry, TransportState, TripleBufferReader,
    TripleBufferWriter, triple_buffer,
};
use crate::params::PlumblineParams;
use nice_plug_egui::RepaintNotifier;
use plumbline_dsp::decks::preview::Bearings;
use plumbline_dsp::decks::song_clock::Transport;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, Mutex};

/// Whether a window is open, and how to have it repainted.
#[derive(Default)]
pub struct EditorDisplay {
    pub open: AtomicBool,
    pub repaint: RepaintNotifier,
}

impl Display for EditorDisplay {
    fn is_open(&self) -> bool {
        self.open.load(Relaxed)
    }

    fn request_repaint(&self) {
        self.repaint.request_repaint();
    }
}

/// The audio thread's way to the window.
pub struct DeckFeed {
    snapshots: TripleBufferWriter<DeckSnapshot>,
    display: Arc<EditorDisplay>,
    /// What the open window was shown last.
    shown: DeckSnapshot,
}

impl DeckFeed {
    /// Shows where the moving deck is, when a window is open and there is news: the deck has moved, or the song has.
    /// Wait-free.
    pub fn show(&mut self, deck: Option<Bearings>, transport: Transport) {
        if !self.display.is_open() {
            // A window that opens is shown everything anew.
            self.shown = DeckSnapshot::default();
            return;
        }
        let transport = TransportState::of(transport);
        let snapshot = DeckSnapshot { deck, transport };
        let rolls = deck.is_some() && transport == TransportState::Rolling;
        if rolls || !snapshot.shows_the_same_as(&self.shown) {
            self.shown = snapshot;
            self.snapshots.write(snapshot);
            self.display.request_repaint();
        }
    }
}

/// What one instance shows, and the audio thread's end of it.
pub fn scene(
    params: &Arc<PlumblineParams>,
    telemetry: &Arc<Telemetry>,
    pairs: TripleBufferReader<PairSnapshot>,
) -> (Scene, DeckFeed) {
    let (to_window, decks) = triple_buffer();
    let display = Arc::<EditorDisplay>::default();
    let deck_feed = DeckFeed {
        snapshots: to_window,
        display: Arc::clone(&display),
        shown: DeckSnapshot::default(),
    };
    let scene = Scene {
        params: Arc::clone(params),
        telemetry: Arc::clone(telemetry),
        pairs: Arc::new(Mutex::new(pairs)),
        decks: Arc::new(Mutex::new(decks)),
        display,
    };
    (scene, deck_feed)
}

/// What a window looks at. One instance has one, whether a window is open or not.
#[derive(Clone)]
pub struct Scene {
    pub params: Arc<PlumblineParams>,
    pub telemetry: Arc<Telemetry>,
    pub pairs: Arc<Mutex<TripleBufferReader<PairSnapshot>>>,
    pub decks: Arc<Mutex<TripleBufferReader<DeckSnapshot>>>,
    pub display: Arc<EditorDisplay>,
}
