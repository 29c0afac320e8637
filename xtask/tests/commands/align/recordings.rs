//! The folder of real recordings: where it is, and what its files hold.

use std::path::{Path, PathBuf};

use xtask::audio::AudioReader;

/// Where the recordings are; says so when they are not.
pub fn folder() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/recordings");
    let folder = std::env::var_os("PLUMBLINE_RECORDINGS").map_or(beside, PathBuf::from);
    let there = folder.join("snares").is_dir();
    if !there {
        println!("skipped: no recordings");
    }
    there.then_some(folder)
}

/// A file's channels.
pub fn read(path: &Path) -> Vec<Vec<f32>> {
    let mut reader =
        AudioReader::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let frames = reader.frames().expect("a length") as usize;
    let mut channels = vec![vec![0.0; frames]; reader.channels()];
    let mut slices: Vec<&mut [f32]> = channels.iter_mut().map(Vec::as_mut_slice).collect();
    assert_eq!(
        reader
            .read(&mut slices)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display())),
        frames
    );
    channels
}

/// File names in a folder that begin so, sorted.
pub fn names(folder: &Path, begin: &str) -> Vec<String> {
    let entries =
        std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut names: Vec<String> = entries
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .filter(|name| name.starts_with(begin))
        .collect();
    names.sort();
    names
}
