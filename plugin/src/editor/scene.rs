//! What the windows of one instance look at.

use super::frame::Control;
use super::history::Sides;
use super::host_presence::HostWindowNumber;
use super::preset_files::PresetFiles;
use super::recall::SheetWriter;
use crate::exchange::{DeckSnapshot, Display, Telemetry, TripleBufferReader};
use crate::params::PlumblineParams;
use nice_plug_egui::RepaintNotifier;
use plumbline_dsp::print::level_histogram::LevelHistogram;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};
use std::sync::{Arc, Mutex};

/// Whether a window is open, and how to have it repainted.
#[derive(Default)]
pub struct EditorDisplay {
    pub open: AtomicBool,
    pub repaint: RepaintNotifier,
    /// A repaint has been asked for since the pacer looked.
    pub asked: AtomicBool,
    /// Frames that have been begun.
    pub frames: AtomicU32,
    /// What the open window is in.
    pub host_window: HostWindowNumber,
}

impl Display for EditorDisplay {
    fn is_open(&self) -> bool {
        self.open.load(Relaxed)
    }

    fn request_repaint(&self) {
        self.repaint.request_repaint();
        self.asked.store(true, Relaxed);
    }
}

/// What the instance's threads show to its windows.
pub struct SceneFeeds {
    pub decks: TripleBufferReader<DeckSnapshot>,
    pub levels: TripleBufferReader<LevelHistogram>,
}

/// What a window shows. One instance has one, whether a window is open or not.
#[derive(Clone)]
pub struct Scene {
    pub params: Arc<PlumblineParams>,
    pub telemetry: Arc<Telemetry>,
    pub decks: Arc<Mutex<TripleBufferReader<DeckSnapshot>>>,
    /// How loud the take comes to the tape.
    pub levels: Arc<Mutex<TripleBufferReader<LevelHistogram>>>,
    pub display: Arc<EditorDisplay>,
    /// Saves recall sheets.
    pub sheets: SheetWriter,
    /// Saves and opens presets.
    pub presets: PresetFiles,
    /// What was done in the windows, and the other settings. They outlive a window.
    pub sides: Arc<Mutex<Sides>>,
}

impl Scene {
    /// Of one instance.
    pub fn new(
        params: &Arc<PlumblineParams>,
        telemetry: &Arc<Telemetry>,
        feeds: SceneFeeds,
    ) -> Self {
        Self {
            params: Arc::clone(params),
            telemetry: Arc::clone(telemetry),
            decks: Arc::new(Mutex::new(feeds.decks)),
            levels: Arc::new(Mutex::new(feeds.levels)),
            display: Arc::default(),
            sheets: SheetWriter::default(),
            presets: PresetFiles::default(),
            sides: Arc::default(),
        }
    }

    /// Where a control stands, in the parameter's own unit.
    pub fn value(&self, control: Control) -> f32 {
        // SAFETY: the parameters live as long as the scene.
        unsafe { control.parameter(&self.params).unmodulated_plain_value() }
    }

    /// For the threads that write snapshots.
    pub fn display(&self) -> Arc<dyn Display> {
        self.display.clone()
    }
}
