//! Renders raw audio through the built CLAP, as a job file says: the CLAP's side of the comparison of both formats.
//!
//! The job is one JSON object. Audio files are planar 32-bit floats, channel after channel: main, then spot.

use anyhow::{Context, Result, ensure};
use plumbline_hosting::{Bundle, Instance, Layout, Session, Song, Tempo};
use serde::Deserialize;
use std::fs;
use std::path::{Path, PathBuf};

#[derive(Deserialize)]
struct Job {
    /// The bundle.
    clap: PathBuf,
    /// Samples a second.
    sample_rate: f64,
    /// Longest block, samples.
    max_block: usize,
    /// Two main channels and two of a stereo spot.
    input: PathBuf,
    output: PathBuf,
    /// A state to begin with, without the length in front of it.
    #[serde(default)]
    state: Option<String>,
    /// The transport runs from the song's start; else it stands.
    #[serde(default)]
    playing: bool,
    /// Sorted by frame. Those at frame 0 count before the audio starts.
    #[serde(default)]
    points: Vec<Point>,
}

#[derive(Deserialize)]
struct Point {
    frame: usize,
    id: String,
    text: String,
}

/// What the other host plays by default.
const SONG: Song = Song {
    seconds: 0.0,
    tempo: Tempo::steady(120.0),
    beats_per_bar: 4,
};

/// Main and spot.
const CHANNELS: usize = 4;

fn main() -> Result<()> {
    let path = std::env::args().nth(1).context("give a job file")?;
    let job: Job = serde_json::from_str(&fs::read_to_string(path)?)?;
    let channels = read(&job.input)?;
    let bundle = Bundle::load(&job.clap)?;
    let mut instance = bundle.open(&Session {
        sample_rate: job.sample_rate,
        max_block: job.max_block as u32,
        layout: Layout::StereoSpotStereo,
        offline: true,
    })?;
    if let Some(state) = &job.state {
        instance.load(&with_length(state))?;
    }
    let rendered = render(&mut instance, &job, channels)?;
    write(&job.output, &rendered)?;
    let answer = serde_json::json!({
        "latency": instance.latency(),
        "state": String::from_utf8_lossy(&instance.save()?[8..]),
    });
    println!("{answer}");
    Ok(())
}

/// The framework stores a state behind its length.
fn with_length(state: &str) -> Vec<u8> {
    let length = (state.len() as u64).to_le_bytes();
    [&length, state.as_bytes()].concat()
}

fn render(
    instance: &mut Instance,
    job: &Job,
    channels: [Vec<f32>; CHANNELS],
) -> Result<[Vec<f32>; 2]> {
    let [mut first, mut second, spot_left, spot_right] = channels;
    let mut points = job.points.iter().peekable();
    while let Some(point) = points.next_if(|point| point.frame == 0) {
        instance.set_text(&point.id, &point.text)?;
    }
    instance.restart()?;
    instance.play_from(job.playing.then_some(SONG));
    let mut at = 0;
    while at < first.len() {
        while let Some(point) = points.next_if(|point| point.frame == at) {
            instance.set_text(&point.id, &point.text)?;
        }
        let next = points.peek().map_or(first.len(), |point| point.frame);
        let end = next.min(at + job.max_block).min(first.len());
        ensure!(end > at, "the points are not sorted");
        instance.process(
            &mut [&mut first[at..end], &mut second[at..end]],
            &[&spot_left[at..end], &spot_right[at..end]],
        )?;
        at = end;
    }
    Ok([first, second])
}

fn read(path: &Path) -> Result<[Vec<f32>; CHANNELS]> {
    let bytes = fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
    let samples: Vec<f32> = bytes
        .chunks_exact(4)
        .map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]]))
        .collect();
    let frames = samples.len() / CHANNELS;
    Ok(std::array::from_fn(|channel| {
        samples[channel * frames..(channel + 1) * frames].to_vec()
    }))
}

fn write(path: &Path, channels: &[Vec<f32>]) -> Result<()> {
    let bytes: Vec<u8> = channels
        .iter()
        .flatten()
        .flat_map(|sample| sample.to_le_bytes())
        .collect();
    fs::write(path, bytes).with_context(|| format!("cannot write {}", path.display()))
}
