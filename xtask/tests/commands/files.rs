//! Test files in a folder that goes away.

use std::path::{Path, PathBuf};

use hound::{SampleFormat, WavReader, WavSpec, WavWriter};

/// Samples a second where a test does not say otherwise.
pub const RATE: u32 = 48_000;

/// A folder of files that goes away at the end of the test.
pub struct Folder(tempfile::TempDir);

impl Folder {
    /// An empty one.
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("a temporary folder"))
    }

    /// A path inside.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Stores 32-bit float WAV.
    pub fn wav<C: AsRef<[f32]>>(&self, name: &str, rate: u32, channels: &[C]) -> PathBuf {
        let path = self.path(name);
        let spec = WavSpec {
            channels: channels.len() as u16,
            sample_rate: rate,
            bits_per_sample: 32,
            sample_format: SampleFormat::Float,
        };
        let mut writer = WavWriter::create(&path, spec).expect("a WAV file");
        for frame in 0..channels[0].as_ref().len() {
            let samples = channels.iter().map(|channel| channel.as_ref()[frame]);
            samples.for_each(|sample| writer.write_sample(sample).expect("a sample"));
        }
        writer.finalize().expect("a whole WAV file");
        path
    }

    /// Stores bytes.
    pub fn bytes(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).expect("a file");
        path
    }
}

/// What a float WAV holds, one vector a channel.
pub fn read(path: &Path) -> Vec<Vec<f32>> {
    let mut reader = WavReader::open(path).expect("a WAV file");
    let channels = usize::from(reader.spec().channels);
    let samples = reader.samples::<f32>();
    let samples: Vec<f32> = samples.map(|sample| sample.expect("a sample")).collect();
    let channel = |channel| samples.iter().skip(channel).step_by(channels);
    (0..channels)
        .map(|c| channel(c).copied().collect())
        .collect()
}
