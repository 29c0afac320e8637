//! Plays a file through the decks block by block: the print is written, the moving deck's course is recorded.

use plumbline_hosting::Bundle;

use super::automation::Automation;
use super::comb_probe::{Column, CombProbe};
use super::course::CourseRecorder;
use super::instance::SweepInstance;
use super::null_points::NullPoint;
use crate::audio::{AudioReader, AudioWriter};
use crate::failure::Outcome;
use crate::progress;

/// What follows the end of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The print is as long as the file.
    Cut,
    /// The moving deck runs out.
    RunOut,
}

/// What is measured while the file plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Probes {
    /// The moving deck's offset.
    Offset,
    /// That, and the comb.
    OffsetAndComb,
}

/// What was written and measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Rendered {
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
    /// The comb, where it was measured.
    pub comb: Vec<Column>,
}

/// Plays the whole file.
///
/// # Errors
///
/// When a file cannot be read or written, or the plugin fails.
pub fn render(
    bundle: &Bundle,
    automation: &Automation,
    input: &mut AudioReader,
    print: &mut AudioWriter,
    ending: Ending,
    probes: Probes,
) -> Outcome<Rendered> {
    let rate = f64::from(input.sample_rate());
    let instance = SweepInstance::open(bundle, automation.clone(), rate, input.channels())?;
    // The decks alone: what is measured beside them is not printed.
    let decks = automation.clone().with_constant("print", 0.0);
    let comb = match probes {
        Probes::Offset => None,
        Probes::OffsetAndComb => Some(CombProbe::open(bundle, &decks, rate, input.frames())?),
    };
    let mut rendering = Rendering {
        instance,
        course: CourseRecorder::open(bundle, &decks, rate, input.frames())?,
        comb,
        print,
        audio: vec![Vec::new(); input.channels()],
        peak_out: 0.0,
    };
    rendering.silence_to(0)?;
    let (frames, peak_in) = rendering.run(input)?;
    let rest = rendering.rest(ending)?;
    rendering.silence_to((frames + rest as u64) as i64)?;
    Ok(Rendered {
        frames,
        latency: rendering.instance.latency(),
        peak_in,
        peak_out: rendering.peak_out,
        nulls: rendering.course.nulls(frames),
        course: rendering.course.points(frames),
        comb: rendering.comb.map(CombProbe::finish).unwrap_or_default(),
    })
}

/// Three instances side by side.
struct Rendering<'a> {
    instance: SweepInstance,
    course: CourseRecorder,
    comb: Option<CombProbe>,
    print: &'a mut AudioWriter,
    audio: Vec<Vec<f32>>,
    peak_out: f32,
}

impl Rendering<'_> {
    /// Frames and peak of the file.
    fn run(&mut self, input: &mut AudioReader) -> Outcome<(u64, f32)> {
        let bar = progress::bar("sweeping", input.frames());
        let (mut frames, mut peak_in) = (0, 0.0);
        loop {
            self.resize(self.instance.until_next());
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
        while self.instance.at() < end {
            let left = (end - self.instance.at()) as usize;
            self.resize(0);
            self.resize(left.min(self.instance.until_next()));
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
            Ending::RunOut => self.instance.tail()?,
        };
        Ok(self.instance.latency() + tail)
    }

    fn step(&mut self) -> Outcome {
        let count = self.audio[0].len();
        let mut slices: Vec<&mut [f32]> = self.audio.iter_mut().map(Vec::as_mut_slice).collect();
        let from = self.instance.play(&mut slices)?;
        let skip = (-from).clamp(0, count as i64) as usize;
        self.peak_out = peak(&self.audio, skip, self.peak_out);
        let output: Vec<&[f32]> = self.audio.iter().map(|channel| &channel[skip..]).collect();
        self.print.write(&output)?;
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
