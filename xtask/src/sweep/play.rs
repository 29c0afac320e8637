//! Plays a file through the decks block by block: the print is written, the moving deck's course is watched.

use plumbline_hosting::Bundle;

use super::comb_probe::{Column, CombProbe};
use super::deck::Deck;
use super::nulls::{NullFinder, NullPoint};
use super::pilot::Pilot;
use super::score::Score;
use crate::audio_reader::AudioReader;
use crate::audio_writer::AudioWriter;
use crate::failure::Outcome;
use crate::progress;

/// Most points of the drawn course: four a pixel of a wide sheet.
const POINTS: u64 = 4_000;

/// What follows the end of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The print is as long as the file.
    Cut,
    /// The moving deck runs out.
    RunOut,
}

/// Whether the comb is watched too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watch {
    /// Where the moving deck is.
    Offset,
    /// That, and what the comb takes out.
    OffsetAndComb,
}

/// What was heard and seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// Frames of the file.
    pub frames: u64,
    /// Samples that were taken out.
    pub latency: usize,
    /// Largest sample of the file.
    pub peak_in: f32,
    /// Largest sample of the print.
    pub peak_out: f32,
    /// Where the decks were together.
    pub nulls: Vec<NullPoint>,
    /// Seconds of the file and offset in seconds; no offset where the decks are not
    /// engaged, and where the moving one was re-cued in a cross-fade.
    pub course: Vec<(f64, Option<f64>)>,
    /// The comb, where it was watched.
    pub comb: Vec<Column>,
}

/// Plays the whole file.
pub fn play(
    bundle: &Bundle,
    score: &Score,
    input: &mut AudioReader,
    print: &mut AudioWriter,
    ending: Ending,
    watch: Watch,
) -> Outcome<Played> {
    let rate = f64::from(input.sample_rate());
    let deck = Deck::open(bundle, score.clone(), rate, input.channels())?;
    let comb = match watch {
        Watch::Offset => None,
        Watch::OffsetAndComb => Some(CombProbe::open(bundle, score, rate, input.frames())?),
    };
    let mut machine = Machine {
        deck,
        course: Course::open(bundle, score, rate, input.frames())?,
        comb,
        print,
        audio: vec![Vec::new(); input.channels()],
        peak_out: 0.0,
    };
    machine.silence_to(0)?;
    let (frames, peak_in) = machine.run(input)?;
    let rest = machine.rest(ending)?;
    machine.silence_to((frames + rest as u64) as i64)?;
    Ok(Played {
        frames,
        latency: machine.deck.latency(),
        peak_in,
        peak_out: machine.peak_out,
        nulls: machine.course.nulls(frames),
        course: machine.course.points(frames),
        comb: machine.comb.map(CombProbe::finish).unwrap_or_default(),
    })
}

/// Three instances side by side.
struct Machine<'a> {
    deck: Deck,
    course: Course,
    comb: Option<CombProbe>,
    print: &'a mut AudioWriter,
    audio: Vec<Vec<f32>>,
    peak_out: f32,
}

impl Machine<'_> {
    /// Frames and peak of the file.
    fn run(&mut self, input: &mut AudioReader) -> Outcome<(u64, f32)> {
        let bar = progress::bar("sweeping", input.frames());
        let (mut frames, mut peak_in) = (0, 0.0);
        loop {
            self.resize(self.deck.until_next());
            let mut slices: Vec<&mut [f32]> =
                self.audio.iter_mut().map(Vec::as_mut_slice).collect();
            let count = input.read(&mut slices)?;
            if count == 0 {
                bar.finish_and_clear();
                return Ok((frames, peak_in));
            }
            self.resize(count);
            peak_in = peak(&self.audio, 0, peak_in);
            self.step()?;
            frames += count as u64;
            bar.inc(count as u64);
        }
    }

    /// Plays silence until `end` is the next sample of the file.
    fn silence_to(&mut self, end: i64) -> Outcome {
        while self.deck.at() < end {
            let left = (end - self.deck.at()) as usize;
            self.resize(0);
            self.resize(left.min(self.deck.until_next()));
            self.step()?;
        }
        Ok(())
    }

    fn resize(&mut self, count: usize) {
        for channel in &mut self.audio {
            channel.resize(count, 0.0);
        }
    }

    /// Samples to play after the file.
    fn rest(&mut self, ending: Ending) -> Outcome<usize> {
        let tail = match ending {
            Ending::Cut => 0,
            Ending::RunOut => self.deck.tail()?,
        };
        Ok(self.deck.latency() + tail)
    }

    fn step(&mut self) -> Outcome {
        let count = self.audio[0].len();
        let mut slices: Vec<&mut [f32]> = self.audio.iter_mut().map(Vec::as_mut_slice).collect();
        let from = self.deck.play(&mut slices)?;
        let skip = (-from).clamp(0, count as i64) as usize;
        self.peak_out = peak(&self.audio, skip, self.peak_out);
        let heard: Vec<&[f32]> = self.audio.iter().map(|channel| &channel[skip..]).collect();
        self.print.write(&heard)?;
        self.course.play(count)?;
        if let Some(comb) = &mut self.comb {
            comb.play(count)?;
        }
        Ok(())
    }
}

fn peak(audio: &[Vec<f32>], from: usize, least: f32) -> f32 {
    audio
        .iter()
        .flat_map(|channel| &channel[from..])
        .fold(least, |peak, sample| peak.max(sample.abs()))
}

/// Collects what the pilot says.
struct Course {
    pilot: Pilot,
    score: Score,
    sample_rate: f64,
    /// Samples from one drawn point to the next.
    step: i64,
    nulls: NullFinder,
    points: Vec<(f64, Option<f64>)>,
}

impl Course {
    fn open(
        bundle: &Bundle,
        score: &Score,
        sample_rate: f64,
        frames: Option<u64>,
    ) -> Outcome<Self> {
        let least = (sample_rate / 1e3) as i64;
        let step = frames.map_or(least, |frames| least.max((frames / POINTS) as i64));
        Ok(Self {
            pilot: Pilot::open(bundle, score, sample_rate)?,
            score: score.clone(),
            sample_rate,
            step: step.max(1),
            nulls: NullFinder::default(),
            points: Vec::new(),
        })
    }

    fn play(&mut self, count: usize) -> Outcome {
        let block = self.pilot.play(count)?;
        for (at, offset_s) in (block.from..).zip(block.offsets_s) {
            if at < 0 {
                continue;
            }
            let offset_s = offset_s.filter(|_| self.score.heard(at, self.sample_rate));
            self.nulls.push(at as f64, offset_s);
            if at % self.step == 0 {
                self.points.push((at as f64 / self.sample_rate, offset_s));
            }
        }
        Ok(())
    }

    fn nulls(&self, frames: u64) -> Vec<NullPoint> {
        let end = frames as f64;
        let mut nulls = self.nulls.clone().finish(end);
        nulls.retain(|null| null.from < end);
        nulls
            .iter_mut()
            .for_each(|null| null.to = null.to.min(end - 1.0));
        nulls
    }

    fn points(&self, frames: u64) -> Vec<(f64, Option<f64>)> {
        let end_s = frames as f64 / self.sample_rate;
        let inside = self.points.iter().filter(|(at_s, _)| *at_s < end_s);
        inside.copied().collect()
    }
}
