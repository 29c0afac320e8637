//! Reading RF64 and BW64 files, whose lengths have 64 bits (EBU Tech 3306, ITU-R BS.2088).

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;

use anyhow::Context;

use super::source::{Shape, Source, open_file};
use super::wave_chunks::{WaveChunks, WaveFormat};
use crate::failure::{Outcome, refuse};

/// Frames of a packet.
const PACKET: usize = 4096;

/// How one sample is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sample {
    Whole16,
    Whole24,
    Whole32,
    Float32,
    Float64,
}

impl Sample {
    fn of(format: &WaveFormat) -> Option<Self> {
        match (format.tag, format.bits) {
            (1, 16) => Some(Self::Whole16),
            (1, 24) => Some(Self::Whole24),
            (1, 32) => Some(Self::Whole32),
            (3, 32) => Some(Self::Float32),
            (3, 64) => Some(Self::Float64),
            _ => None,
        }
    }

    fn bytes(self) -> usize {
        match self {
            Self::Whole16 => 2,
            Self::Whole24 => 3,
            Self::Whole32 | Self::Float32 => 4,
            Self::Float64 => 8,
        }
    }

    /// Full scale one.
    fn read(self, bytes: &[u8]) -> f32 {
        match *bytes {
            [a, b] => f32::from(i16::from_le_bytes([a, b])) / 32_768.0,
            [a, b, c] => i32::from_le_bytes([0, a, b, c]) as f32 / 2_147_483_648.0,
            [a, b, c, d] if self == Self::Float32 => f32::from_le_bytes([a, b, c, d]),
            [a, b, c, d] => i32::from_le_bytes([a, b, c, d]) as f32 / 2_147_483_648.0,
            [a, b, c, d, e, f, g, h] => f64::from_le_bytes([a, b, c, d, e, f, g, h]) as f32,
            _ => 0.0,
        }
    }
}

/// One open file.
pub struct LongWave {
    file: BufReader<File>,
    sample: Sample,
    channels: usize,
    /// Bytes of samples that are still to be read.
    left: u64,
}

impl LongWave {
    /// Opens a file whose chunks have been read.
    pub fn open(path: &Path, chunks: &WaveChunks) -> Outcome<(Self, Shape)> {
        let (Some(format), Some((at, bytes))) = (chunks.format, chunks.data) else {
            return refuse(format!("{} has no samples", path.display()));
        };
        let channels = usize::from(format.channels);
        let (Some(sample), 1..) = (Sample::of(&format), channels) else {
            return refuse(format!(
                "{} holds {} bits of format {} in {channels} channels: export it as 16, 24 or 32 bit PCM or as float",
                path.display(),
                format.bits,
                format.tag
            ));
        };
        let mut file = BufReader::new(open_file(path)?);
        file.seek(SeekFrom::Start(at))
            .with_context(|| format!("{} could not be read", path.display()))?;
        let frame = (channels * sample.bytes()) as u64;
        let shape = Shape {
            sample_rate: format.sample_rate,
            channels,
            frames: Some(bytes / frame),
        };
        let file = Self {
            file,
            sample,
            channels,
            left: bytes / frame * frame,
        };
        Ok((file, shape))
    }
}

impl Source for LongWave {
    fn next(&mut self, path: &Path, channels: &mut Vec<Vec<f32>>) -> Outcome<bool> {
        let frame = self.channels * self.sample.bytes();
        let wanted = self.left.min((PACKET * frame) as u64);
        let mut bytes = Vec::with_capacity(wanted as usize);
        let read = (&mut self.file).take(wanted).read_to_end(&mut bytes);
        read.with_context(|| format!("{} could not be read", path.display()))?;
        self.left -= bytes.len() as u64;
        channels.iter_mut().for_each(Vec::clear);
        for frame in bytes.chunks_exact(frame) {
            let samples = frame.chunks_exact(self.sample.bytes());
            for (channel, bytes) in channels.iter_mut().zip(samples) {
                channel.push(self.sample.read(bytes));
            }
        }
        Ok(bytes.len() >= frame)
    }
}
