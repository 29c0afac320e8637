//! Reading a WAV, RF64, BW64, AIFF or FLAC file block by block, one slice a channel, whatever its bit depth.

use std::path::{Path, PathBuf};

use super::decoder::DecodedFile;
use super::long_wave::LongWave;
use super::source::{Shape, Source};
use super::wave_chunks::WaveChunks;
use crate::failure::{Outcome, refuse};

/// One open file. It holds a packet's worth of samples, never the whole file.
pub struct AudioReader {
    path: PathBuf,
    source: Box<dyn Source>,
    shape: Shape,
    /// Of a `bext` chunk.
    time_reference: Option<u64>,
    /// Decoded but not yet handed out, one vector a channel.
    pending: Vec<Vec<f32>>,
    /// How much of `pending` was handed out.
    taken: usize,
    /// Frames decoded so far.
    decoded: u64,
}

impl AudioReader {
    /// Opens a file and reads its header.
    pub fn open(path: &Path) -> Outcome<Self> {
        let chunks = WaveChunks::read(path)?;
        let time_reference = chunks.as_ref().and_then(|chunks| chunks.time_reference);
        let (source, shape): (Box<dyn Source>, Shape) = match chunks.filter(WaveChunks::is_long) {
            Some(chunks) => {
                let (file, shape) = LongWave::open(path, &chunks)?;
                (Box::new(file), shape)
            }
            None => {
                let (file, shape) = DecodedFile::open(path)?;
                (Box::new(file), shape)
            }
        };
        if shape.frames == Some(0) || shape.channels == 0 {
            return refuse(format!(
                "{} holds no audio: the file has a header and nothing else",
                path.display()
            ));
        }
        Ok(Self {
            path: path.to_owned(),
            source,
            shape,
            time_reference,
            pending: vec![Vec::new(); shape.channels],
            taken: 0,
            decoded: 0,
        })
    }

    /// Where the file begins, samples after midnight, as a broadcast wave says (EBU Tech 3285).
    pub fn time_reference(&self) -> Option<u64> {
        self.time_reference
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Samples a second.
    pub fn sample_rate(&self) -> u32 {
        self.shape.sample_rate
    }

    /// How many channels.
    pub fn channels(&self) -> usize {
        self.shape.channels
    }

    /// Frames the header promises; some FLAC streams do not say.
    pub fn frames(&self) -> Option<u64> {
        self.shape.frames
    }

    /// Fills `channels` (one slice a channel, all of one length); returns the frames written, fewer only at the end.
    pub fn read(&mut self, channels: &mut [&mut [f32]]) -> Outcome<usize> {
        let wanted = channels.first().map_or(0, |channel| channel.len());
        let mut written = 0;
        while written < wanted && self.refill()? {
            written += self.hand_out(channels, written, wanted);
        }
        Ok(written)
    }

    fn hand_out(&mut self, channels: &mut [&mut [f32]], at: usize, end: usize) -> usize {
        let count = (end - at).min(self.pending[0].len() - self.taken);
        for (channel, pending) in channels.iter_mut().zip(&self.pending) {
            channel[at..at + count].copy_from_slice(&pending[self.taken..self.taken + count]);
        }
        self.taken += count;
        count
    }

    /// Decodes the next packet when the last one is used up; false at the end of a whole file.
    fn refill(&mut self) -> Outcome<bool> {
        while self.taken == self.pending[0].len() {
            if !self.decode_packet()? {
                self.check_whole()?;
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn decode_packet(&mut self) -> Outcome<bool> {
        self.taken = 0;
        if !self.source.next(&self.path, &mut self.pending)? {
            self.pending.iter_mut().for_each(Vec::clear);
            return Ok(false);
        }
        self.check_finite()?;
        self.decoded += self.pending[0].len() as u64;
        Ok(true)
    }

    fn check_finite(&self) -> Outcome {
        for (channel, samples) in self.pending.iter().enumerate() {
            if let Some(at) = samples.iter().position(|sample| !sample.is_finite()) {
                let seconds = (self.decoded + at as u64) as f64 / f64::from(self.shape.sample_rate);
                return refuse(format!(
                    "{} has a sample that is no number (NaN or infinity) at {seconds:.3} s in channel {}: \
                     export the file again, or mend that spot in an editor",
                    self.path.display(),
                    channel + 1
                ));
            }
        }
        Ok(())
    }

    fn check_whole(&self) -> Outcome {
        match self.shape.frames {
            Some(promised) if self.decoded < promised => refuse(format!(
                "{} is truncated: its header promises {promised} frames and only {} are there; copy or export it again",
                self.path.display(),
                self.decoded
            )),
            _ if self.decoded == 0 => refuse(format!("{} holds no audio", self.path.display())),
            _ => Ok(()),
        }
    }
}
