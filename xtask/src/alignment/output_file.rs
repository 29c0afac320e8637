//! The files that the second pass writes: which version of the pair, which channels of it.

use crate::audio::AudioWriter;
use crate::failure::Outcome;

/// As recorded, or after the correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Version {
    /// What goes in.
    Before,
    /// What comes out, latency taken out.
    After,
}

/// What of the pair a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Both channels.
    Pair,
    /// The first alone.
    First,
    /// The second alone.
    Second,
    /// Half of first + second, so that it cannot clip where the pair does not.
    Mono,
}

impl Part {
    /// Channels of such a file.
    pub fn channels(self) -> usize {
        if self == Part::Pair { 2 } else { 1 }
    }
}

/// One file that is written during the second pass.
pub struct OutputFile {
    /// As recorded, or corrected.
    pub version: Version,
    /// Which channels.
    pub part: Part,
    /// The file.
    pub file: AudioWriter,
}

/// Writes a stretch of one version of the pair to the files that hold it.
pub fn write(outputs: &mut [OutputFile], version: Version, pair: [&[f32]; 2]) -> Outcome {
    for output in outputs
        .iter_mut()
        .filter(|output| output.version == version)
    {
        match output.part {
            Part::Pair => output.file.write(&pair)?,
            Part::First => output.file.write(&pair[..1])?,
            Part::Second => output.file.write(&pair[1..])?,
            Part::Mono => output.file.write(&[&mono(pair)])?,
        }
    }
    Ok(())
}

fn mono([first, second]: [&[f32]; 2]) -> Vec<f32> {
    first
        .iter()
        .zip(second)
        .map(|(first, second)| 0.5 * (first + second))
        .collect()
}
