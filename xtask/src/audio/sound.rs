//! A short piece of audio in memory, brought to one loudness and packed as FLAC: what a page can play.

use std::fs;
use std::path::Path;

use anyhow::{Context, anyhow};
use flacenc::bitsink::ByteSink;
use flacenc::component::BitRepr;
use flacenc::error::Verify;
use plumbline_dsp::meters::loudness::loudness_lkfs;

use super::reader::AudioReader;
use crate::failure::Outcome;

/// Frames of a packed block. The end is filled up with silence to a whole one: the packer counts a short last block as the
/// file's shortest, and readers then take the file for one of varying blocks.
const BLOCK: usize = 4000;
/// Bits of a packed sample.
const BITS: usize = 16;
/// Largest value of such a sample, and what full scale is multiplied with.
const FULL_SCALE: f32 = 32_767.0;
/// Highest peak that is packed, full scale one: -1 dB, which leaves room for what a player's filters add.
const MOST_PEAK: f32 = 0.891;
/// Gain of a channel that both loudspeakers play, against one of them, dB.
const BOTH_SPEAKERS_DB: f64 = 3.0103;

/// Channels of one length and rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound {
    pub channels: Vec<Vec<f32>>,
    pub sample_rate: u32,
    /// The packed file, where it was read from one.
    pub file: Vec<u8>,
}

impl Sound {
    /// Reads a whole file.
    pub fn read(path: &Path) -> Outcome<Self> {
        let mut reader = AudioReader::open(path)?;
        let mut channels = vec![Vec::new(); reader.channels()];
        let mut block = vec![vec![0.0; 4096]; reader.channels()];
        loop {
            let mut slices: Vec<&mut [f32]> =
                block.iter_mut().map(|channel| &mut channel[..]).collect();
            let frames = reader.read(&mut slices)?;
            if frames == 0 {
                break;
            }
            for (channel, block) in channels.iter_mut().zip(&block) {
                channel.extend_from_slice(&block[..frames]);
            }
        }
        Ok(Self {
            channels,
            sample_rate: reader.sample_rate(),
            file: Vec::new(),
        })
    }

    /// Half of first + second.
    pub fn mono(self) -> Self {
        let part = 1.0 / self.channels.len() as f32;
        let frames = self.channels[0].len();
        let sum = |frame: usize| {
            part * self
                .channels
                .iter()
                .map(|channel| channel[frame])
                .sum::<f32>()
        };
        Self {
            channels: vec![(0..frames).map(sum).collect()],
            ..self
        }
    }

    /// Its first seconds.
    pub fn cut(mut self, seconds: f64) -> Self {
        let frames = (seconds * f64::from(self.sample_rate)).round() as usize;
        self.channels
            .iter_mut()
            .for_each(|channel| channel.truncate(frames));
        self
    }

    /// Integrated loudness as two loudspeakers play it, LKFS (ITU-R BS.1770-4): a single channel comes out of both.
    pub fn loudness_lkfs(&self) -> f64 {
        let channels: Vec<&[f32]> = self.channels.iter().map(Vec::as_slice).collect();
        let both = if channels.len() == 1 {
            BOTH_SPEAKERS_DB
        } else {
            0.0
        };
        loudness_lkfs(&channels, f64::from(self.sample_rate))
            .map_or(f64::NEG_INFINITY, |lkfs| lkfs + both)
    }

    /// Largest sample, full scale one.
    pub fn peak(&self) -> f32 {
        self.channels
            .iter()
            .flatten()
            .fold(0.0, |most, sample| most.max(sample.abs()))
    }

    /// Brought to a loudness. Refused where that would clip: a lower loudness has to be chosen for all.
    pub fn at_loudness(mut self, lkfs: f64) -> Outcome<Self> {
        let gain = 10f64.powf((lkfs - self.loudness_lkfs()) / 20.0) as f32;
        self.channels
            .iter_mut()
            .flatten()
            .for_each(|sample| *sample *= gain);
        match self.peak() <= MOST_PEAK {
            true => Ok(self),
            false => Err(anyhow!(
                "at {lkfs} LKFS the peak is {:.1} dBFS",
                20.0 * self.peak().log10()
            )
            .into()),
        }
    }

    /// Packed as FLAC of 16 bits, written, and read again: what is heard, and what is measured.
    pub fn through_file(&self, path: &Path) -> Outcome<Self> {
        let bytes = self.packed()?;
        fs::write(path, &bytes).with_context(|| format!("cannot write {}", path.display()))?;
        Ok(Self {
            file: bytes,
            ..Self::read(path)?
        })
    }

    /// As FLAC of 16 bits.
    pub fn packed(&self) -> Outcome<Vec<u8>> {
        let config = flacenc::config::Encoder::default();
        let config = config
            .into_verified()
            .map_err(|(_, error)| anyhow!("FLAC: {error}"))?;
        let frames = self.channels[0].len().next_multiple_of(BLOCK);
        let sample = |channel: &[f32], frame: usize| {
            let sample = channel.get(frame).copied().unwrap_or(0.0);
            (sample * FULL_SCALE).round() as i32
        };
        let frame = |frame| {
            self.channels
                .iter()
                .map(move |channel| sample(channel, frame))
        };
        let samples: Vec<i32> = (0..frames).flat_map(frame).collect();
        let source = flacenc::source::MemSource::from_samples(
            &samples,
            self.channels.len(),
            BITS,
            self.sample_rate as usize,
        );
        let stream = flacenc::encode_with_fixed_block_size(&config, source, BLOCK)
            .map_err(|error| anyhow!("FLAC: {error}"))?;
        let mut sink = ByteSink::new();
        stream
            .write(&mut sink)
            .map_err(|error| anyhow!("FLAC: {error}"))?;
        Ok(sink.as_slice().to_vec())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_is_read_again_to_the_last_bit() {
        let mut random = fastrand::Rng::with_seed(7);
        let channel = |random: &mut fastrand::Rng| {
            (0..50_000)
                .map(|_| (random.i32(-30_000..30_000) as f32) / FULL_SCALE)
                .collect()
        };
        let sound = Sound {
            channels: vec![channel(&mut random), channel(&mut random)],
            sample_rate: 48_000,
            file: Vec::new(),
        };
        let place = tempfile::tempdir().expect("a folder");
        let again = sound
            .through_file(&place.path().join("a.flac"))
            .expect("a file");
        assert_eq!(again.channels[1].len(), 52_000);
        let off = |channel: usize| {
            let pairs = sound.channels[channel].iter().zip(&again.channels[channel]);
            pairs
                .map(|(a, b)| (a * FULL_SCALE - b * 32_768.0).abs())
                .fold(0.0, f32::max)
        };
        assert!(off(0).max(off(1)) < 0.01, "{} {}", off(0), off(1));
    }

    #[test]
    fn a_sound_is_brought_to_the_loudness_that_is_asked_for() {
        let tone: Vec<f32> = (0..96_000)
            .map(|n| 0.01 * (n as f32 * 0.13).sin())
            .collect();
        for channels in [vec![tone.clone()], vec![tone.clone(), tone]] {
            let sound = Sound {
                channels,
                sample_rate: 48_000,
                file: Vec::new(),
            };
            let loudness = sound.at_loudness(-24.0).expect("room").loudness_lkfs();
            assert!((loudness + 24.0).abs() < 0.01, "{loudness}");
        }
    }
}
