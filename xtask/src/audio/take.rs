//! One take: two overheads and any number of spots, read side by side in blocks.

use std::path::{Path, PathBuf};

use crate::audio::AudioReader;
use crate::failure::{Outcome, refuse};

/// Frames read at a time: 85 ms at 48 kHz.
pub const BLOCK: usize = 4096;

/// Where the overheads are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Overheads {
    /// Both in one stereo file: the left channel is the first.
    Together(PathBuf),
    /// Each in its own mono file.
    Apart {
        /// The first overhead.
        first: PathBuf,
        /// The second overhead.
        second: PathBuf,
    },
}

/// The files of a take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TakeFiles {
    /// The pair.
    pub overheads: Overheads,
    /// Close microphones, mono or stereo; the first one decides.
    pub spots: Vec<PathBuf>,
}

/// A file's name without folder and ending.
pub fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(
        || path.display().to_string(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

/// The open files of a take, all of one rate and one length.
pub struct Take {
    overheads: Vec<AudioReader>,
    spots: Vec<AudioReader>,
    sample_rate: u32,
    frames: Option<u64>,
}

/// One block of a take.
pub struct TakeBlock {
    /// First and second.
    pub pair: [Vec<f32>; 2],
    /// Each spot's channels.
    pub spots: Vec<Vec<Vec<f32>>>,
}

impl Overheads {
    /// Its files, the first overhead's first.
    pub fn paths(&self) -> Vec<&PathBuf> {
        match self {
            Overheads::Together(path) => vec![path],
            Overheads::Apart { first, second } => vec![first, second],
        }
    }
}

impl Take {
    /// Opens every file and checks that they fit together.
    pub fn open(files: &TakeFiles) -> Outcome<Self> {
        let overheads: Vec<AudioReader> = files
            .overheads
            .paths()
            .into_iter()
            .map(|path| AudioReader::open(path))
            .collect::<Outcome<_>>()?;
        check_overheads(&overheads)?;
        let spots: Vec<AudioReader> = files
            .spots
            .iter()
            .map(|path| AudioReader::open(path))
            .collect::<Outcome<_>>()?;
        check_spots(&spots)?;
        check_same(&overheads[0], overheads[1..].iter().chain(&spots))?;
        let (sample_rate, frames) = (overheads[0].sample_rate(), overheads[0].frames());
        Ok(Self {
            overheads,
            spots,
            sample_rate,
            frames,
        })
    }

    /// Samples a second.
    pub fn sample_rate(&self) -> u32 {
        self.sample_rate
    }

    /// Frames, where the header says.
    pub fn frames(&self) -> Option<u64> {
        self.frames
    }

    /// Where the pair begins, samples after midnight.
    pub fn time_reference(&self) -> Option<u64> {
        self.overheads[0].time_reference()
    }

    /// Where a spot begins; where its file does not say, with the pair.
    pub fn spot_time_reference(&self, spot: usize) -> Option<u64> {
        let own = self.spots.get(spot).and_then(AudioReader::time_reference);
        own.or(self.time_reference())
    }

    /// Channels of each spot.
    pub fn spot_channels(&self) -> Vec<usize> {
        self.spots.iter().map(AudioReader::channels).collect()
    }

    /// An empty block of the right shape.
    pub fn block(&self) -> TakeBlock {
        let spots = self
            .spots
            .iter()
            .map(|spot| vec![Vec::new(); spot.channels()])
            .collect();
        TakeBlock {
            pair: [Vec::new(), Vec::new()],
            spots,
        }
    }

    /// Reads the next block; false at the end.
    pub fn read(&mut self, block: &mut TakeBlock) -> Outcome<bool> {
        block.resize(BLOCK);
        let frames = self.read_pair(block)?;
        for (reader, channels) in self.spots.iter_mut().zip(&mut block.spots) {
            let mut slices: Vec<&mut [f32]> = channels.iter_mut().map(Vec::as_mut_slice).collect();
            check_ends(frames, reader.read(&mut slices)?, reader)?;
        }
        block.resize(frames);
        Ok(frames > 0)
    }

    fn read_pair(&mut self, block: &mut TakeBlock) -> Outcome<usize> {
        let [first, second] = &mut block.pair;
        match self.overheads.as_mut_slice() {
            [stereo] => stereo.read(&mut [first, second]),
            [left, right] => {
                let frames = left.read(&mut [first])?;
                check_ends(frames, right.read(&mut [second])?, right)?;
                Ok(frames)
            }
            _ => refuse("the overheads are one stereo file or two mono files"),
        }
    }
}

impl TakeBlock {
    /// Frames in the block.
    pub fn frames(&self) -> usize {
        self.pair[0].len()
    }

    /// Turns the block into so many frames of silence.
    pub fn silence(&mut self, frames: usize) {
        self.resize(0);
        self.resize(frames);
    }

    fn resize(&mut self, frames: usize) {
        self.pair
            .iter_mut()
            .chain(self.spots.iter_mut().flatten())
            .for_each(|channel| channel.resize(frames, 0.0));
    }
}

fn check_overheads(overheads: &[AudioReader]) -> Outcome {
    match overheads {
        [pair] if pair.channels() == 1 => refuse(format!(
            "{} is mono and a pair is needed: give a stereo file, or two mono files with --first and --second",
            pair.path().display()
        )),
        [pair] if pair.channels() != 2 => refuse(format!(
            "{} has {} channels and a pair is needed: export the two overheads as one stereo file",
            pair.path().display(),
            pair.channels()
        )),
        [_] => Ok(()),
        both => match both.iter().find(|one| one.channels() != 1) {
            Some(one) => refuse(format!(
                "{} has {} channels: --first and --second take one mono file each; a stereo file is given alone",
                one.path().display(),
                one.channels()
            )),
            None => Ok(()),
        },
    }
}

fn check_spots(spots: &[AudioReader]) -> Outcome {
    match spots.iter().find(|spot| spot.channels() > 2) {
        Some(spot) => refuse(format!(
            "{} has {} channels: a spot is mono or stereo",
            spot.path().display(),
            spot.channels()
        )),
        None => Ok(()),
    }
}

fn check_same<'a>(model: &AudioReader, others: impl Iterator<Item = &'a AudioReader>) -> Outcome {
    for other in others {
        if other.sample_rate() != model.sample_rate() {
            return refuse(format!(
                "the files have different sample rates: {} has {} Hz, {} has {} Hz; export all from the same session",
                model.path().display(),
                model.sample_rate(),
                other.path().display(),
                other.sample_rate()
            ));
        }
        if let (Some(ours), Some(theirs)) = (model.frames(), other.frames())
            && ours != theirs
        {
            return refuse(lengths_differ(model, ours, other, theirs));
        }
    }
    Ok(())
}

fn lengths_differ(model: &AudioReader, ours: u64, other: &AudioReader, theirs: u64) -> String {
    format!(
        "the files have different lengths: {} has {ours} frames, {} has {theirs}; export all from the same start to \
         the same end",
        model.path().display(),
        other.path().display()
    )
}

/// For files that do not say their length in the header.
fn check_ends(frames: usize, theirs: usize, reader: &AudioReader) -> Outcome {
    if frames == theirs {
        return Ok(());
    }
    refuse(format!(
        "{} does not end where the other files end: export all from the same start to the same end",
        reader.path().display()
    ))
}
