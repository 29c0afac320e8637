//! Asks for a place and writes the sheet there, on a thread of its own: the host's own thread never waits for a dialog.

use crate::editor::dialog_answer::without_file;
use crate::editor::frame::SheetStatus;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Instant;

/// Saves sheets, one at a time.
#[derive(Clone, Debug, Default)]
pub struct SheetWriter {
    status: Arc<Mutex<SheetStatus>>,
}

impl SheetWriter {
    pub fn status(&self) -> SheetStatus {
        self.status
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn set(&self, status: SheetStatus) {
        *self.status.lock().unwrap_or_else(PoisonError::into_inner) = status;
    }

    /// Opens the dialog, unless one is open; `repaint` is called when something has come of it.
    pub fn save(&self, sheet: String, repaint: impl FnOnce() + Send + 'static) {
        if self.status() == SheetStatus::Asking {
            return;
        }
        let before = self.status();
        self.set(SheetStatus::Asking);
        let writer = self.clone();
        let work = move || {
            let asked = Instant::now();
            let path = rfd::FileDialog::new()
                .set_title("Save the recall sheet")
                .add_filter("Web page", &["html"])
                .set_file_name("plumbline-recall.html")
                .save_file();
            writer.set(match path {
                Some(path) => written(&path, &sheet),
                None => without_file(asked, before, SheetStatus::Failed),
            });
            repaint();
        };
        let thread = thread::Builder::new().name("plumbline recall".into());
        if let Err(error) = thread.spawn(work) {
            self.set(SheetStatus::Failed(error.to_string()));
        }
    }
}

fn written(path: &Path, sheet: &str) -> SheetStatus {
    match std::fs::write(path, sheet) {
        Ok(()) => SheetStatus::Saved(path.display().to_string()),
        Err(error) => SheetStatus::Failed(format!("{}: {error}", path.display())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_written_says_why() {
        let folder = std::env::temp_dir().join("plumbline-no-such-folder");
        let status = written(&folder.join("recall.html"), "");
        assert!(matches!(status, SheetStatus::Failed(why) if why.contains("recall.html")));
    }
}
