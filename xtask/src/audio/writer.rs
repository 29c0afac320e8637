//! Writing 32-bit float WAV files block by block, under their final name only when they are whole.

use std::fs::File;
use std::path::{Path, PathBuf};

use anyhow::Context;

use super::wave_file::{WaveFile, WaveForm};
use crate::failure::{Outcome, refuse};

/// What to do when a file of that name is already there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Stop before anything is written.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// A file being written. Dropped before `finish`, it leaves nothing behind.
pub struct AudioWriter {
    path: PathBuf,
    /// `None` only once `finish` took it.
    wave: Option<WaveFile>,
}

impl AudioWriter {
    /// Starts a file.
    pub fn create(path: &Path, form: &WaveForm) -> Outcome<Self> {
        let part = part_of(path);
        let wave = WaveFile::create(&part, form)
            .with_context(|| format!("cannot write {}", part.display()))?;
        Ok(Self {
            path: path.to_owned(),
            wave: Some(wave),
        })
    }

    /// Appends a block, one slice a channel, all of one length.
    pub fn write(&mut self, channels: &[&[f32]]) -> Outcome {
        let wave = self.wave.as_mut().context("the file is already finished")?;
        wave.write(channels)
            .with_context(|| format!("cannot write {}", self.path.display()))?;
        Ok(())
    }

    /// Completes the header and gives the file its name.
    pub fn finish(mut self) -> Outcome<PathBuf> {
        let wave = self.wave.take().context("the file is already finished")?;
        wave.finish()
            .with_context(|| format!("cannot finish {}", self.path.display()))?;
        std::fs::rename(part_of(&self.path), &self.path)
            .with_context(|| format!("cannot name {}", self.path.display()))?;
        Ok(self.path.clone())
    }
}

impl Drop for AudioWriter {
    fn drop(&mut self) {
        if self.wave.take().is_some() {
            // The work failed: the unfinished temporary file is removed.
            let _ = std::fs::remove_file(part_of(&self.path));
        }
    }
}

/// Makes the folder where it is missing and checks that each file may be written there.
pub fn claim(folder: &Path, names: &[String], existing: Existing) -> Outcome<Vec<PathBuf>> {
    if let Err(error) = std::fs::create_dir_all(folder) {
        return refuse(format!(
            "the folder {} cannot be made: {error}; name another with --out",
            folder.display()
        ));
    }
    if let Err(error) = tempfile_in(folder) {
        return refuse(format!(
            "nothing can be written into {}: {error}; name another with --out",
            folder.display()
        ));
    }
    let paths: Vec<PathBuf> = names.iter().map(|name| folder.join(name)).collect();
    match paths.iter().find(|path| path.exists()) {
        Some(path) if existing == Existing::Keep => refuse(format!(
            "{} is already there: name another folder, or add --force to replace it",
            path.display()
        )),
        _ => Ok(paths),
    }
}

fn tempfile_in(folder: &Path) -> std::io::Result<()> {
    let probe = folder.join(format!(".write-check-{}", std::process::id()));
    File::create(&probe)?;
    std::fs::remove_file(&probe)
}

fn part_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".part");
    PathBuf::from(name)
}
