//! `cargo xtask demo`: a session with a known truth, measured and corrected by the built plugin.
//!
//! Records the simulated session, aligns it, compares the result with the truth, and prints and sweeps the two tracks. The
//! session is `simulation`'s, the work `alignment`'s and `decks`'; here stand the order of work and the comparison.

mod chorus;
mod comparison;
mod tape_examples;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;
use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::Bundle;

use crate::alignment::{
    AskedDrum, OutputFile, Outputs, Part, Settings, SpotFile, TimeRange, Version, align, measure,
};
use crate::audio::{AudioWriter, Overheads, Sound, TakeFiles, WaveForm};
use crate::failure::Outcome;
use crate::progress;
use crate::project::plugin;
use crate::project::workspace::Metadata;
use crate::sheet::{Extras, line_up, write_recall_sheet};
use crate::simulation::barn::{self, SAMPLE_RATE, Session, TEMPERATURE_C};
use crate::tape::LineUp;

/// Options of `cargo xtask demo`.
#[derive(Args, Clone, Copy, Debug)]
pub struct DemoOptions {}

/// What comes out of the plugin, for the ear.
const OUTPUTS: [(&str, Version, Part); 5] = [
    ("before-stereo.wav", Version::Before, Part::Pair),
    ("before-mono.wav", Version::Before, Part::Mono),
    ("after-stereo.wav", Version::After, Part::Pair),
    ("after-mono.wav", Version::After, Part::Mono),
    ("two-tracks.wav", Version::Print, Part::Pair),
];

/// What the report plays: title and file.
const SOUNDS: [(&str, &str); 3] = [
    ("before: mono sum as recorded", "before-mono.wav"),
    ("after: mono sum as corrected", "after-mono.wav"),
    ("chorus: one pass through the null point", "chorus-pass.wav"),
];
/// Loudness of all three, LKFS (ITU-R BS.1770-4): as loud as leaves room for a drum's peaks.
const LOUDNESS_LKFS: f64 = -24.0;

/// Level of the kick's microphone in the two tracks, dB.
const KICK_DB: f64 = -6.0;

/// The whole job, from nothing.
pub fn run(_options: DemoOptions) -> Outcome {
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let folder = Metadata::read()?.target_dir().join("demo");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let files = record(&folder)?;
    let settings = Settings {
        anchor: Anchor::Later,
        target: Match::Attack,
        drum: AskedDrum::Auto,
        amount: 100.0,
        temperature_c: TEMPERATURE_C,
        reach_ms: None,
        spot_in_print_db: Some(KICK_DB),
        tape: None,
    };
    let measured = measure(&bundle, &files, TimeRange::ALL, &settings)?;
    let pair = OUTPUTS
        .into_iter()
        .map(|output| create(&folder, output))
        .collect::<Outcome<_>>()?;
    let kick = AudioWriter::create(&folder.join("kick-aligned.wav"), &form(1))?;
    let outputs = Outputs {
        pair,
        spots: vec![SpotFile {
            spot: 0,
            file: kick,
        }],
    };
    let aligned = align(&bundle, files, settings, measured, outputs, SAMPLE_RATE)?;
    let table = comparison::table(&aligned, &barn::truth());
    println!("{}", comparison::as_text(&table));
    println!("{}", aligned.verdict().join("\n"));
    println!(
        "mono sum on the hits: {:+.1} dB\n",
        aligned.mono_sum_gain_db()
    );
    let report = folder.join("report.html");
    let two_tracks = folder.join("two-tracks.wav");
    let chorus = chorus::sweep(&bundle, &two_tracks, &folder)?;
    let on_tape = tape_examples::write(&bundle, &two_tracks, &folder)?;
    let tape = LineUp::of(&chorus::TAPE);
    println!("chorus: null point on {}", chorus.words);
    println!("tape:   {}\n", tape.words());
    let extras = Extras {
        tables: vec![table, line_up(&tape)],
        drawings: vec![chorus.drawing],
        sounds: sounds(&folder)?,
    };
    write_recall_sheet(&aligned, &report, extras)?;
    println!("listen: {}", folder.join("before-mono.wav").display());
    println!("        {}", folder.join("after-mono.wav").display());
    println!("        {}", folder.join("two-tracks.wav").display());
    println!("        {}", chorus.path.display());
    for example in on_tape {
        println!("        {}", example.display());
    }
    println!("read:   {}", report.display());
    Ok(())
}

/// What the report plays, at one loudness.
fn sounds(folder: &Path) -> Outcome<Vec<(&'static str, Vec<u8>)>> {
    let heard = SOUNDS.map(|(title, name)| {
        let sound = Sound::read(&folder.join(name))?.at_loudness(LOUDNESS_LKFS)?;
        Ok((title, sound.packed()?))
    });
    heard.into_iter().collect()
}

/// Records the session in the barn and stores it as a recorder would.
fn record(folder: &Path) -> Outcome<TakeFiles> {
    let spinner = progress::bar("recording", None);
    let Session {
        overheads: [first, second],
        kick,
        ..
    } = barn::record();
    spinner.finish_and_clear();
    let overheads = store(folder, "overheads.wav", &[&first, &second])?;
    let spots = vec![store(folder, "kick.wav", &[&kick])?];
    Ok(TakeFiles {
        overheads: Overheads::Together(overheads),
        spots,
    })
}

fn form(channels: usize) -> WaveForm {
    WaveForm {
        sample_rate: SAMPLE_RATE,
        channels,
        time_reference: None,
    }
}

fn store(folder: &Path, name: &str, channels: &[&[f32]]) -> Outcome<PathBuf> {
    let mut file = AudioWriter::create(&folder.join(name), &form(channels.len()))?;
    file.write(channels)?;
    file.finish()
}

fn create(folder: &Path, (name, version, part): (&str, Version, Part)) -> Outcome<OutputFile> {
    let file = AudioWriter::create(&folder.join(name), &form(part.channels()))?;
    Ok(OutputFile {
        version,
        part,
        file,
    })
}
