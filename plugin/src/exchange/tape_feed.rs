//! The audio thread's way to an open window: how loud the take comes to the tape.

use super::display::Display;
use super::triple_buffer::TripleBufferWriter;
use plumbline_dsp::print::level_histogram::LevelHistogram;
use std::sync::Arc;

/// Peaks of a millisecond that make news: a thirtieth of a second.
const NEWS: u64 = 33;

/// Writer: the audio thread, once a block. Reader: the editor.
pub struct TapeFeed {
    levels: TripleBufferWriter<LevelHistogram>,
    display: Arc<dyn Display>,
    /// Peaks in what the open window was shown last.
    shown: u64,
}

impl TapeFeed {
    /// Where the levels go, and who shows them.
    pub fn new(levels: TripleBufferWriter<LevelHistogram>, display: Arc<dyn Display>) -> Self {
        Self {
            levels,
            display,
            shown: 0,
        }
    }

    /// Shows the levels, when a window is open and there is news. `None`: there is no tape. Wait-free.
    pub fn show(&mut self, levels: Option<&LevelHistogram>) {
        if !self.display.is_open() {
            // A window that opens is shown everything anew.
            self.shown = 0;
            return;
        }
        let Some(levels) = levels else {
            return;
        };
        let counted = levels.counted();
        if counted.abs_diff(self.shown) >= NEWS {
            self.shown = counted;
            self.levels.write(*levels);
            self.display.request_repaint();
        }
    }
}
