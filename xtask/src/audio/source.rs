//! What samples come from: an open file that hands out packets of planar samples.

use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;

use crate::failure::{Failure, Outcome, refuse};

/// What a header says of the audio.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Samples a second.
    pub sample_rate: u32,
    pub channels: usize,
    /// `None` where the header does not say.
    pub frames: Option<u64>,
}

/// An open file.
pub trait Source {
    /// Puts the next packet into one vector a channel; false at the end.
    fn next(&mut self, path: &Path, channels: &mut Vec<Vec<f32>>) -> Outcome<bool>;
}

/// Opens a file that can hold audio at all.
pub fn open_file(path: &Path) -> Outcome<File> {
    let shown = path.display();
    let meta = match std::fs::metadata(path) {
        Ok(meta) => meta,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            return refuse(format!("there is no file {shown}"));
        }
        Err(error) => return refuse(format!("{shown} cannot be opened: {error}")),
    };
    if meta.is_dir() {
        return refuse(format!(
            "{shown} is a folder: name the audio file inside it"
        ));
    }
    if meta.len() == 0 {
        return refuse(format!("{shown} is empty (0 bytes): export it again"));
    }
    File::open(path).map_err(|error| Failure::Input(format!("{shown} cannot be opened: {error}")))
}
