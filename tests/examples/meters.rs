//! What the project's own meters read on raw audio, as a job file says: for comparison with meters that are not ours.
//!
//! The job is one JSON object. The audio file holds planar 32-bit floats, the first channel, then the second.

use anyhow::{Context, Result};
use plumbline_dsp::meters::correlation::{CorrelationMeter, Powers, correlation};
use plumbline_dsp::meters::loudness::loudness_lkfs;
use plumbline_dsp::meters::mono_sum_loss::mono_sum_loss_db;
use serde::Deserialize;
use std::fs;
use std::path::PathBuf;

#[derive(Deserialize)]
struct Job {
    /// Samples a second.
    sample_rate: f64,
    input: PathBuf,
    /// Time constant of the running meter, seconds.
    window_s: f64,
}

fn main() -> Result<()> {
    let path = std::env::args().nth(1).context("give a job file")?;
    let job: Job = serde_json::from_str(&fs::read_to_string(path)?)?;
    let bytes =
        fs::read(&job.input).with_context(|| format!("cannot read {}", job.input.display()))?;
    let samples: Vec<f32> = bytes
        .chunks_exact(4)
        .map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]]))
        .collect();
    let (first, second) = samples.split_at(samples.len() / 2);
    let mut meter = CorrelationMeter::new(job.window_s, job.sample_rate);
    meter.push(first, second);
    let answer = serde_json::json!({
        "loudness_lkfs": loudness_lkfs(&[first, second], job.sample_rate),
        "correlation": correlation(first, second),
        "meter": meter.reading(),
        "mono_sum_loss_db": mono_sum_loss_db(Powers::of(first, second)),
    });
    println!("{answer}");
    Ok(())
}
