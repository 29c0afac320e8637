//! Small made-up takes, files in a folder that goes away, and the command as a child process.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use hound::{SampleFormat, WavSpec, WavWriter};
use serde_json::Value;

/// Samples a second of the made-up takes.
pub const RATE: u32 = 48_000;
/// Samples from the spot to the first overhead.
pub const TO_FIRST: usize = 190;
/// Samples from the first overhead to the second: 13 cm.
pub const GAP: usize = 18;

/// A folder of files that goes away at the end of the test.
pub struct Folder(tempfile::TempDir);

/// A mono signal.
pub type Signal = Vec<f32>;

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
    pub fn wav(&self, name: &str, rate: u32, channels: &[&[f32]]) -> PathBuf {
        let path = self.path(name);
        let spec = WavSpec {
            channels: channels.len() as u16,
            sample_rate: rate,
            bits_per_sample: 32,
            sample_format: SampleFormat::Float,
        };
        let mut writer = WavWriter::create(&path, spec).expect("a WAV file");
        for frame in 0..channels[0].len() {
            channels
                .iter()
                .for_each(|channel| writer.write_sample(channel[frame]).expect("a sample"));
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

/// Eight strokes half a second apart in a spot and two overheads, the second later and softer, with a floor of noise.
pub struct Strokes {
    /// The close microphone.
    pub spot: Signal,
    /// First overhead.
    pub first: Signal,
    /// Second overhead.
    pub second: Signal,
}

impl Strokes {
    /// The same strokes every time.
    pub fn new() -> Self {
        let mut random = fastrand::Rng::with_seed(7);
        let mut dry = vec![0.0f32; 4 * RATE as usize + RATE as usize / 2];
        for stroke in 0..8 {
            let start = (0.3 + 0.5 * f64::from(stroke)) * f64::from(RATE);
            for (n, sample) in dry.iter_mut().skip(start as usize).take(9600).enumerate() {
                let t = n as f32 / RATE as f32;
                let rise = 1.0 - (-t / 0.0001).exp();
                let noise = 2.0 * random.f32() - 1.0;
                let shell = (std::f32::consts::TAU * 190.0 * t).sin();
                *sample +=
                    rise * (0.25 * noise * (-t / 0.03).exp() + 0.25 * shell * (-t / 0.06).exp());
            }
        }
        let mut heard = |late: usize, level: f32| -> Signal {
            let delayed = std::iter::repeat_n(&0.0, late).chain(&dry).take(dry.len());
            delayed
                .map(|sample| level * sample + 1e-5 * (2.0 * random.f32() - 1.0))
                .collect()
        };
        Self {
            spot: heard(0, 1.0),
            first: heard(TO_FIRST, 0.5),
            second: heard(TO_FIRST + GAP, 0.45),
        }
    }

    /// The pair and the spot as files.
    pub fn store(&self, folder: &Folder) -> [PathBuf; 2] {
        [
            folder.wav("pair.wav", RATE, &[&self.first, &self.second]),
            folder.wav("snare.wav", RATE, &[&self.spot]),
        ]
    }
}

/// Runs `cargo xtask align` with these arguments.
pub fn align<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_xtask"));
    command
        .arg("align")
        .args(arguments)
        .output()
        .expect("xtask runs")
}

/// The answer of `--json` on a pair and a spot with more arguments.
pub fn answer(pair: &Path, spot: &Path, more: &[&str]) -> Value {
    let mut arguments = vec![
        pair.as_os_str(),
        "--spot".as_ref(),
        spot.as_os_str(),
        "--json".as_ref(),
    ];
    arguments.extend(more.iter().map(std::ffi::OsStr::new));
    let output = align(&arguments);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("one JSON object, and nothing else: {error}"))
}

/// A number of an answer.
pub fn number(answer: &Value, key: &str) -> f64 {
    answer[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is a number in {answer}"))
}
