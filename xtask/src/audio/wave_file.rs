//! A 32-bit float WAV file as it is written: a `bext` chunk where it has a place in time, RF64 where it passes 4 GB.
//!
//! The room for the `ds64` chunk is kept by a `JUNK` chunk from the start, as EBU Tech 3306 has it.

use std::fs::File;
use std::io::{BufWriter, Result, Seek, SeekFrom, Write};
use std::path::Path;

/// Length of a `ds64` chunk without a table.
const DS64: u32 = 28;
/// Length of a `bext` chunk without a coding history (EBU Tech 3285).
const BEXT: u32 = 602;
/// A length that stands in the `ds64` chunk instead.
const ELSEWHERE: u32 = u32::MAX;
/// Format tag of floating-point samples.
const FLOAT: u16 = 3;
/// Bytes of a sample.
const SAMPLE: u16 = 4;

/// What a file is to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WaveForm {
    /// Samples a second.
    pub sample_rate: u32,
    pub channels: usize,
    /// Where it begins, samples after midnight.
    pub time_reference: Option<u64>,
}

/// A file being written.
pub struct WaveFile {
    file: BufWriter<File>,
    channels: u64,
    /// Place of the first sample.
    data_at: u64,
    /// Bytes of samples so far.
    bytes: u64,
    /// Longest file with 32-bit lengths, bytes.
    longest: u64,
}

impl WaveFile {
    /// Writes the header.
    pub fn create(path: &Path, form: &WaveForm) -> Result<Self> {
        let head = head(form);
        let mut file = BufWriter::new(File::create(path)?);
        file.write_all(&head)?;
        Ok(Self {
            file,
            channels: form.channels as u64,
            data_at: head.len() as u64,
            bytes: 0,
            longest: u64::from(u32::MAX),
        })
    }

    /// Appends a block, one slice a channel, all of one length.
    pub fn write(&mut self, channels: &[&[f32]]) -> Result<()> {
        let frames = channels.first().map_or(0, |channel| channel.len());
        for frame in 0..frames {
            for channel in channels {
                self.file.write_all(&channel[frame].to_le_bytes())?;
            }
        }
        self.bytes += (frames * channels.len()) as u64 * u64::from(SAMPLE);
        Ok(())
    }

    /// Completes the header.
    pub fn finish(mut self) -> Result<()> {
        let length = self.data_at + self.bytes - 8;
        match length <= self.longest {
            true => {
                self.put(4, &(length as u32).to_le_bytes())?;
                self.put(self.data_at - 4, &(self.bytes as u32).to_le_bytes())?;
            }
            false => self.become_long(length)?,
        }
        self.file.flush()
    }

    fn become_long(&mut self, length: u64) -> Result<()> {
        let frames = self.bytes / (self.channels * u64::from(SAMPLE));
        let ds64 = [
            &b"ds64"[..],
            &DS64.to_le_bytes(),
            &length.to_le_bytes(),
            &self.bytes.to_le_bytes(),
            &frames.to_le_bytes(),
            &0u32.to_le_bytes(),
        ]
        .concat();
        self.put(0, b"RF64")?;
        self.put(4, &ELSEWHERE.to_le_bytes())?;
        self.put(12, &ds64)?;
        self.put(self.data_at - 4, &ELSEWHERE.to_le_bytes())
    }

    fn put(&mut self, at: u64, bytes: &[u8]) -> Result<()> {
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(bytes)
    }
}

/// Everything in front of the samples; lengths follow in the end.
fn head(form: &WaveForm) -> Vec<u8> {
    let frame = form.channels as u16 * SAMPLE;
    let mut head = [
        b"RIFF\0\0\0\0WAVEJUNK",
        &DS64.to_le_bytes()[..],
        &[0; DS64 as usize],
    ]
    .concat();
    head.extend(form.time_reference.into_iter().flat_map(bext));
    let format = [
        &b"fmt "[..],
        &18u32.to_le_bytes(),
        &FLOAT.to_le_bytes(),
        &(form.channels as u16).to_le_bytes(),
        &form.sample_rate.to_le_bytes(),
        &(form.sample_rate * u32::from(frame)).to_le_bytes(),
        &frame.to_le_bytes(),
        &(8 * SAMPLE).to_le_bytes(),
        &[0, 0],
        b"data\0\0\0\0",
    ];
    head.extend(format.concat());
    head
}

/// Version 1: the originator and the place in time; the rest is empty.
fn bext(time_reference: u64) -> Vec<u8> {
    let mut body = vec![0; BEXT as usize];
    body[256..265].copy_from_slice(b"Plumbline");
    body[338..346].copy_from_slice(&time_reference.to_le_bytes());
    body[346] = 1;
    [&b"bext"[..], &BEXT.to_le_bytes(), &body].concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::AudioReader;

    const FORM: WaveForm = WaveForm {
        sample_rate: 48_000,
        channels: 2,
        time_reference: Some(0x1_2345_6789),
    };

    /// A file whose lengths have 32 bits up to `longest` bytes.
    fn written(path: &Path, longest: u64) -> Vec<u8> {
        let mut file = WaveFile::create(path, &FORM).unwrap();
        file.longest = longest;
        let ramp: Vec<f32> = (0..5_000).map(|n| n as f32 / 5_000.0).collect();
        let fall: Vec<f32> = ramp.iter().map(|x| -x).collect();
        file.write(&[&ramp, &fall]).unwrap();
        file.finish().unwrap();
        std::fs::read(path).unwrap()
    }

    #[test]
    fn short_and_long_files_are_read_back_with_their_place_in_time() {
        let folder = tempfile::tempdir().unwrap();
        for (name, longest, id) in [
            ("short.wav", u64::from(u32::MAX), b"RIFF"),
            ("long.wav", 0, b"RF64"),
        ] {
            let path = folder.path().join(name);
            let bytes = written(&path, longest);
            assert_eq!(&bytes[..4], id, "{name}");
            let mut reader = AudioReader::open(&path).unwrap();
            assert_eq!(reader.time_reference(), FORM.time_reference, "{name}");
            assert_eq!(
                (reader.sample_rate(), reader.channels()),
                (48_000, 2),
                "{name}"
            );
            assert_eq!(reader.frames(), Some(5_000), "{name}");
            let (mut left, mut right) = (vec![0.0; 6_000], vec![0.0; 6_000]);
            assert_eq!(
                reader.read(&mut [&mut left, &mut right]).unwrap(),
                5_000,
                "{name}"
            );
            assert_eq!((left[4_999], right[4_999]), (0.9998, -0.9998), "{name}");
        }
    }
}
