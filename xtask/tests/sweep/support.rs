//! Files of noise in a folder that goes away, and the command as a child process.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use hound::{SampleFormat, WavReader, WavSpec, WavWriter};
use serde_json::Value;

/// Samples a second where a test does not say otherwise.
pub const RATE: u32 = 48_000;

/// Float samples, one vector a channel.
pub type Audio = Vec<Vec<f32>>;

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
    pub fn wav(&self, name: &str, rate: u32, audio: &Audio) -> PathBuf {
        let path = self.path(name);
        let spec = WavSpec {
            channels: audio.len() as u16,
            sample_rate: rate,
            bits_per_sample: 32,
            sample_format: SampleFormat::Float,
        };
        let mut writer = WavWriter::create(&path, spec).expect("a WAV file");
        for frame in 0..audio[0].len() {
            let samples = audio.iter().map(|channel| channel[frame]);
            samples.for_each(|sample| writer.write_sample(sample).expect("a sample"));
        }
        writer.finalize().expect("a whole WAV file");
        path
    }
}

/// White noise at half scale, each channel its own.
pub fn noise(channels: usize, frames: usize) -> Audio {
    let mut random = fastrand::Rng::with_seed(11);
    let mut channel = || (0..frames).map(|_| random.f32() - 0.5).collect();
    (0..channels).map(|_| channel()).collect()
}

/// What a file holds.
pub fn read(path: &Path) -> Audio {
    let mut reader = WavReader::open(path).expect("a WAV file");
    let channels = usize::from(reader.spec().channels);
    let samples = reader.samples::<f32>();
    let samples: Vec<f32> = samples.map(|sample| sample.expect("a sample")).collect();
    let channel = |channel| samples.iter().skip(channel).step_by(channels);
    (0..channels)
        .map(|c| channel(c).copied().collect())
        .collect()
}

/// Runs `cargo xtask sweep` from one file to another.
pub fn sweep(input: &Path, out: &Path, more: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_xtask"));
    command.arg("sweep").arg(input).arg("--out").arg(out);
    let more = more.split_whitespace().map(OsStr::new);
    command.args(more).output().expect("xtask runs")
}

/// Its answer and its print, where it must succeed.
pub fn swept(folder: &Folder, input: &Path, more: &str) -> (Value, Audio) {
    let out = folder.path("out.wav");
    let output = sweep(input, &out, &format!("{more} --json --force"));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{more}: {errors}");
    let answer = serde_json::from_slice(&output.stdout).expect("one JSON object");
    (answer, read(&out))
}

/// The null points' places, samples of the file.
pub fn nulls(answer: &Value) -> Vec<f64> {
    let points = answer["null_points"].as_array().expect("null points");
    let sample = |point: &Value| point["sample"].as_f64().expect("a place");
    points.iter().map(sample).collect()
}

/// A number of an answer.
pub fn number(answer: &Value, name: &str) -> f64 {
    answer[name].as_f64().expect("a number")
}
