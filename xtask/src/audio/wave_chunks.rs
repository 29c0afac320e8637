//! The chunks of a WAV, RF64 or BW64 file: what the samples are, where they lie, and where they belong in time.
//!
//! RIFF as in the Multimedia Programming Interface 1.0 (1991); RF64 and its `ds64` chunk: EBU Tech 3306 (2009); BW64: ITU-R
//! BS.2088; `bext`: EBU Tech 3285. Numbers are little-endian.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use super::source::open_file;
use crate::failure::{Outcome, refuse};

/// Place of the time reference within a `bext` chunk.
const TIME_REFERENCE_AT: usize = 338;
/// Bytes of a chunk that are looked at.
const LOOKED_AT: usize = 602;
/// A 32-bit length that stands in the `ds64` chunk instead.
const ELSEWHERE: u32 = u32::MAX;
/// Most chunks before a file is called damaged.
const MOST_CHUNKS: usize = 4096;

/// Which of the three the file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Riff,
    Rf64,
    Bw64,
}

/// How samples are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WaveFormat {
    /// 1: whole numbers, 3: floating point.
    pub tag: u16,
    pub channels: u16,
    pub sample_rate: u32,
    pub bits: u16,
}

/// What the chunks say.
#[derive(Clone, Debug, PartialEq)]
pub struct WaveChunks {
    pub kind: Kind,
    pub format: Option<WaveFormat>,
    /// First byte of the samples, and how many bytes the header promises.
    pub data: Option<(u64, u64)>,
    /// Samples after midnight.
    pub time_reference: Option<u64>,
}

impl WaveChunks {
    /// Reads them; `None` where the file is none of the three.
    ///
    /// # Errors
    ///
    /// When the file cannot be opened.
    pub fn read(path: &Path) -> Outcome<Option<Self>> {
        let mut file = open_file(path)?;
        let Some(kind) = kind(&mut file) else {
            return Ok(None);
        };
        let mut chunks = Self {
            kind,
            format: None,
            data: None,
            time_reference: None,
        };
        chunks.walk(&mut file);
        if chunks.is_long() && (chunks.format.is_none() || chunks.data.is_none()) {
            return refuse(format!(
                "{} is damaged: an RF64 or BW64 file without its format or its samples; copy or export it again",
                path.display()
            ));
        }
        Ok(Some(chunks))
    }

    /// Its lengths have 64 bits.
    pub fn is_long(&self) -> bool {
        self.kind != Kind::Riff
    }

    fn walk(&mut self, file: &mut File) {
        let mut long_data = None;
        let mut at = 12;
        for _ in 0..MOST_CHUNKS {
            let Some((id, length)) = chunk_head(file, at) else {
                return;
            };
            let body_at = at + 8;
            let body = || body(file, body_at, length);
            let mut bytes = u64::from(length);
            match &id {
                b"ds64" => long_data = self.long_data(&body_of(body())),
                b"fmt " => self.format = format(&body_of(body())),
                b"bext" => self.time_reference = time_reference(&body_of(body())),
                b"data" => {
                    if length == ELSEWHERE && self.is_long() {
                        bytes = long_data.unwrap_or(bytes);
                    }
                    self.data = Some((body_at, bytes));
                }
                _ => {}
            }
            // Chunks begin at even places.
            at = body_at.saturating_add(bytes).saturating_add(bytes % 2);
        }
    }

    /// Length of the samples in a `ds64` chunk: after the file's own length.
    fn long_data(&self, body: &[u8]) -> Option<u64> {
        Some(u64::from_le_bytes(body.get(8..16)?.try_into().ok()?))
    }
}

fn body_of(body: Option<Vec<u8>>) -> Vec<u8> {
    body.unwrap_or_default()
}

fn kind(file: &mut File) -> Option<Kind> {
    let mut head = [0; 12];
    file.read_exact(&mut head).ok()?;
    match (&head[..4], &head[8..]) {
        (b"RIFF", b"WAVE") => Some(Kind::Riff),
        (b"RF64", b"WAVE") => Some(Kind::Rf64),
        (b"BW64", b"WAVE") => Some(Kind::Bw64),
        _ => None,
    }
}

fn chunk_head(file: &mut File, at: u64) -> Option<([u8; 4], u32)> {
    let mut head = [0; 8];
    file.seek(SeekFrom::Start(at)).ok()?;
    file.read_exact(&mut head).ok()?;
    let [a, b, c, d, length @ ..] = head;
    Some(([a, b, c, d], u32::from_le_bytes(length)))
}

fn body(mut file: &File, at: u64, length: u32) -> Option<Vec<u8>> {
    let mut body = vec![0; LOOKED_AT.min(length as usize)];
    file.seek(SeekFrom::Start(at)).ok()?;
    file.read_exact(&mut body).ok()?;
    Some(body)
}

fn format(body: &[u8]) -> Option<WaveFormat> {
    let word = |at: usize| Some(u16::from_le_bytes(body.get(at..at + 2)?.try_into().ok()?));
    let tag = match word(0)? {
        // Extensible: the tag is the beginning of the sub-format.
        0xfffe => word(24)?,
        tag => tag,
    };
    Some(WaveFormat {
        tag,
        channels: word(2)?,
        sample_rate: u32::from_le_bytes(body.get(4..8)?.try_into().ok()?),
        bits: word(14)?,
    })
}

fn time_reference(body: &[u8]) -> Option<u64> {
    let bytes = body.get(TIME_REFERENCE_AT..TIME_REFERENCE_AT + 8)?;
    Some(u64::from_le_bytes(bytes.try_into().ok()?))
}
