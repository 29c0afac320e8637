//! Real strokes, read from the folder of open recordings; sessions are assembled from them.

use std::path::{Path, PathBuf};

use crate::noise::Noise;
use crate::scene::Session;

/// Samples a second of every recording.
pub const RATE: f64 = 44_100.0;

/// The folder, or a note that it is absent.
pub fn folder() -> Option<PathBuf> {
    let asked = std::env::var_os("PLUMBLINE_RECORDINGS").map(PathBuf::from);
    let beside = || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/recordings");
    let folder = asked.unwrap_or_else(beside);
    let found = folder.is_dir();
    if !found {
        println!("skipped: no recordings");
    }
    found.then_some(folder)
}

/// One stroke as three microphones heard it: first, second, spot.
#[derive(Clone)]
pub struct Stroke {
    pub name: String,
    pub channels: [Vec<f32>; 3],
}

/// Strokes of one snare drum: overhead pair and the microphone above the head.
pub fn snare(folder: &Path, set: &str) -> Vec<Stroke> {
    let set = folder.join("snares").join(set);
    let stroke = |name: String| {
        let mut pair = flac(&set.join("oh").join(&name));
        let spot = flac(&set.join("top").join(&name)).swap_remove(0);
        let second = pair.swap_remove(1);
        Stroke {
            channels: [pair.swap_remove(0), second, spot],
            name,
        }
    };
    names(&set.join("oh")).into_iter().map(stroke).collect()
}

/// Strokes of one drum of the kit through any three of its microphones.
pub fn kit(folder: &Path, drum: &str, microphones: [&str; 3]) -> Vec<Stroke> {
    let kit = folder.join("kit");
    let mine = |name: &String| name.starts_with(drum);
    let stroke = |name: String| Stroke {
        channels: microphones.map(|microphone| wav(&kit.join(microphone).join(&name))),
        name,
    };
    names(&kit.join(microphones[2]))
        .into_iter()
        .filter(mine)
        .map(stroke)
        .collect()
}

/// Strokes spaced apart in silence with a low noise floor (-100 dBFS rms), as the recordings have no pre-roll.
pub fn session(strokes: &[Stroke]) -> Session {
    let spacing = (0.6 * RATE) as usize;
    let length = spacing * (strokes.len() + 1);
    let mut session = Session::floor(RATE, length, 1e-5, &mut Noise::new(7));
    for (n, stroke) in strokes.iter().enumerate() {
        session.add(stroke, spacing / 2 + n * spacing, 0.5);
    }
    session
}

/// Names of a folder's files, sorted.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("a set's folder");
    let mut names: Vec<String> = entries
        .map(|entry| {
            entry
                .expect("a file")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

/// A FLAC file's channels, full scale = 1.
pub fn flac(path: &Path) -> Vec<Vec<f32>> {
    let mut reader = claxon::FlacReader::open(path).expect("a FLAC file");
    let channels = reader.streaminfo().channels as usize;
    let full = 2f32.powi(reader.streaminfo().bits_per_sample as i32 - 1);
    let mut out = vec![Vec::new(); channels];
    for (n, sample) in reader.samples().enumerate() {
        out[n % channels].push(sample.expect("a sample") as f32 / full);
    }
    out
}

fn wav(path: &Path) -> Vec<f32> {
    let mut reader = hound::WavReader::open(path).expect("a WAV file");
    let full = 2f32.powi(i32::from(reader.spec().bits_per_sample) - 1);
    reader
        .samples::<i32>()
        .map(|sample| sample.expect("a sample") as f32 / full)
        .collect()
}
