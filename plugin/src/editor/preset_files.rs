//! Presets in files of the user's own: dialogs on a thread of their own, and what came of them.

use super::dialog_answer::without_file;
use super::frame::PresetStatus;
use crate::presets::{ENDING, Preset, read, write};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Instant;

/// More than this is no preset, bytes.
const LONGEST: u64 = 1 << 20;

/// What has come of the last dialog.
#[derive(Debug, Default)]
struct State {
    status: PresetStatus,
    /// Opened, and not called up yet.
    opened: Option<Preset>,
}

/// Saves and opens presets, one at a time.
#[derive(Clone, Debug, Default)]
pub struct PresetFiles {
    state: Arc<Mutex<State>>,
}

impl PresetFiles {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub fn status(&self) -> PresetStatus {
        self.state().status.clone()
    }

    /// What is to be said of a preset that was called up.
    pub fn set_status(&self, status: PresetStatus) {
        self.state().status = status;
    }

    /// The preset that was opened, once.
    pub fn take_opened(&self) -> Option<Preset> {
        self.state().opened.take()
    }

    /// Asks for a place, and writes what `preset` makes of the file's name there.
    pub fn save(
        &self,
        preset: impl FnOnce(&str) -> Preset + Send + 'static,
        repaint: impl FnOnce() + Send + 'static,
    ) {
        self.ask(repaint, move || {
            let path = rfd::FileDialog::new()
                .set_title("Save a preset")
                .add_filter("Plumbline preset", &[ENDING])
                .set_file_name(format!("My preset.{ENDING}"))
                .save_file()?;
            let path = match path.extension() {
                Some(_) => path,
                None => path.with_extension(ENDING),
            };
            Some((saved(&path, preset), None))
        });
    }

    /// Asks for a file and reads it.
    pub fn open(&self, repaint: impl FnOnce() + Send + 'static) {
        self.ask(repaint, || {
            let path = rfd::FileDialog::new()
                .set_title("Open a preset")
                .add_filter("Plumbline preset", &[ENDING])
                .pick_file()?;
            Some(match opened(&path) {
                Ok(preset) => (PresetStatus::None, Some(preset)),
                Err(why) => (PresetStatus::Failed(why), None),
            })
        });
    }

    /// Runs a dialog, unless one is open; without an answer everything stays as it was.
    fn ask(
        &self,
        repaint: impl FnOnce() + Send + 'static,
        dialog: impl FnOnce() -> Option<(PresetStatus, Option<Preset>)> + Send + 'static,
    ) {
        let before = self.status();
        if before == PresetStatus::Asking {
            return;
        }
        self.set_status(PresetStatus::Asking);
        let files = self.clone();
        let work = move || {
            let asked = Instant::now();
            let nothing = || (without_file(asked, before, PresetStatus::Failed), None);
            let (status, opened) = dialog().unwrap_or_else(nothing);
            *files.state() = State { status, opened };
            repaint();
        };
        let thread = thread::Builder::new().name("plumbline presets".into());
        if let Err(error) = thread.spawn(work) {
            self.set_status(PresetStatus::Failed(error.to_string()));
        }
    }
}

fn name_of(path: &Path) -> String {
    let name = path.file_stem().unwrap_or_default();
    name.to_string_lossy().into_owned()
}

fn saved(path: &Path, preset: impl FnOnce(&str) -> Preset) -> PresetStatus {
    let text = write(&preset(&name_of(path)));
    match std::fs::write(path, text) {
        Ok(()) => PresetStatus::Saved(path.display().to_string()),
        Err(why) => PresetStatus::Failed(format!("{}: {why}", path.display())),
    }
}

fn opened(path: &Path) -> Result<Preset, String> {
    let said = |why: &dyn std::fmt::Display| format!("{}: {why}", path.display());
    let length = std::fs::metadata(path).map_err(|why| said(&why))?.len();
    if length > LONGEST {
        return Err(said(&"far too long for a preset"));
    }
    let bytes = std::fs::read(path).map_err(|why| said(&why))?;
    let preset = read(&String::from_utf8_lossy(&bytes)).map_err(|why| said(&why))?;
    let name = match preset.name.is_empty() {
        true => name_of(path),
        false => preset.name,
    };
    Ok(Preset { name, ..preset })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::PlumblineParams;
    use crate::presets::{held, resolve};

    #[test]
    fn what_is_saved_is_opened_and_bad_files_say_why() {
        let folder = std::env::temp_dir().join(format!("plumbline-files-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let path = folder.join("Second chorus.plumbline");
        let params = PlumblineParams::untouched();
        let settings = held(&params);
        let preset = |name: &str| Preset {
            name: name.to_owned(),
            about: String::new(),
            settings: settings.clone(),
        };
        assert!(matches!(saved(&path, preset), PresetStatus::Saved(_)));
        let back = opened(&path).unwrap();
        assert_eq!(
            (back.name.as_str(), &back.settings),
            ("Second chorus", &settings)
        );
        // Every value comes back as it stands.
        for setting in resolve(&back, &params).unwrap() {
            // SAFETY: the parameters are alive.
            let now = unsafe { setting.parameter.unmodulated_normalized_value() };
            assert!((setting.normalized - now).abs() < 1e-6);
        }
        std::fs::write(&path, [0xff, 0xfe, 0, 1]).unwrap();
        let why = opened(&path).unwrap_err();
        assert!(
            why.contains("Second chorus") && why.contains("no preset"),
            "{why}"
        );
        let nowhere = folder.join("nowhere").join("x.plumbline");
        assert!(
            matches!(saved(&nowhere, preset), PresetStatus::Failed(why) if why.contains("x.plumbline"))
        );
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
