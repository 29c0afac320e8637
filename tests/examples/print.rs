//! What the project's own tape stage makes of raw audio, as a job file says: for comparison with libraries that are not ours.
//!
//! The job is one JSON object. The audio files hold 32-bit floats of one channel.

use anyhow::{Context, Result, bail};
use plumbline_dsp::print::machine::{Machine, Recording};
use plumbline_dsp::print::oversampler::stages_for;
use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup};
use serde::Deserialize;
use std::fs;
use std::path::PathBuf;

#[derive(Deserialize)]
struct Job {
    /// Samples a second.
    sample_rate: f64,
    input: PathBuf,
    output: PathBuf,
    /// Samples in a block.
    block: usize,
    /// Place of the first sample in the song, seconds.
    song_s: f64,
    level_db: f64,
    /// Centimetres a second: 19, 38 or 76.
    speed: u32,
    /// IEC or NAB.
    equalisation: String,
    hiss_db: Option<f64>,
    /// What is left out: nothing, pre-emphasis or oversampling.
    without: Option<String>,
}

fn main() -> Result<()> {
    let path = std::env::args().nth(1).context("give a job file")?;
    let job: Job = serde_json::from_str(&fs::read_to_string(path)?)?;
    let bytes =
        fs::read(&job.input).with_context(|| format!("cannot read {}", job.input.display()))?;
    let mut samples: Vec<f32> = bytes
        .chunks_exact(4)
        .map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]]))
        .collect();
    let (mut print, settings) = (machine(&job)?, settings(&job)?);
    for (n, block) in samples.chunks_mut(job.block.max(1)).enumerate() {
        let song_s = job.song_s + (n * job.block) as f64 / job.sample_rate;
        print.process(&mut [block], song_s, &settings);
    }
    let bytes: Vec<u8> = samples.iter().flat_map(|x| x.to_le_bytes()).collect();
    fs::write(&job.output, bytes)?;
    println!("{}", serde_json::json!({ "latency": print.latency() }));
    Ok(())
}

fn machine(job: &Job) -> Result<Print> {
    let setup = PrintSetup {
        sample_rate: job.sample_rate,
        channels: 1,
    };
    let straight = |speed, equalisation| Machine {
        recording: Recording::Straight,
        ..Machine::lined_up(speed, equalisation)
    };
    Ok(match job.without.as_deref() {
        None => Print::new(setup),
        Some("pre-emphasis") => Print::with_machines(setup, stages_for(job.sample_rate), straight),
        Some("oversampling") => Print::with_machines(setup, 0, Machine::lined_up),
        Some(other) => bail!("nothing is without {other}"),
    })
}

fn settings(job: &Job) -> Result<PrintSettings> {
    Ok(PrintSettings {
        level_db: job.level_db,
        speed: match job.speed {
            19 => TapeSpeed::Cm19,
            38 => TapeSpeed::Cm38,
            76 => TapeSpeed::Cm76,
            other => bail!("no tape runs at {other} cm/s"),
        },
        equalisation: match job.equalisation.as_str() {
            "IEC" => Equalisation::Iec,
            "NAB" => Equalisation::Nab,
            other => bail!("no standard is called {other}"),
        },
        hiss_db: job.hiss_db,
        ..PrintSettings::default()
    })
}
