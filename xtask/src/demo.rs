//! `cargo xtask demo`: a session with a known truth, measured and corrected by the built plugin.

pub mod barn;
pub mod chorus;
pub mod convolve;
pub mod drums;
pub mod groove;
pub mod room;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;
use plumbline_dsp::measurement::{Lag, Polarity};
use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::Bundle;

use crate::align::{Done, work};
use crate::audio_writer::AudioWriter;
use crate::bundle;
use crate::correct::{Part, Print, Side};
use crate::failure::Outcome;
use crate::found::polarity_word;
use crate::measure::{Range, Settings, measure};
use crate::progress;
use crate::recall;
use crate::sheet::{More, Table, signed};
use crate::take::{Overheads, TakeFiles};
use crate::workspace::Metadata;
use barn::{SAMPLE_RATE, Session, TEMPERATURE_C, Truth};

/// Options of `cargo xtask demo`.
#[derive(Args, Clone, Copy, Debug)]
pub struct DemoOptions {}

/// What comes out of the plugin, for the ear.
const PRINTS: [(&str, Side, Part); 4] = [
    ("before-stereo.wav", Side::Before, Part::Pair),
    ("before-mono.wav", Side::Before, Part::Mono),
    ("after-stereo.wav", Side::After, Part::Pair),
    ("after-mono.wav", Side::After, Part::Mono),
];

/// The whole job, from nothing.
pub fn run(_options: DemoOptions) -> Outcome {
    let bundle = Bundle::load(bundle::built_clap()?)?;
    let folder = Metadata::read()?.target_dir().join("demo");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let files = record(&folder)?;
    let settings = Settings {
        anchor: Anchor::Later,
        target: Match::Attack,
        amount: 100.0,
        temperature_c: TEMPERATURE_C,
        reach_ms: None,
    };
    let measured = measure(&bundle, &files, Range::ALL, &settings)?;
    let frames = (measured.length_s * f64::from(SAMPLE_RATE)).round() as u64;
    let prints = PRINTS
        .into_iter()
        .map(|print| start(&folder, print, frames))
        .collect::<Outcome<_>>()?;
    let done = work(&bundle, files, settings, measured, prints, SAMPLE_RATE)?;
    let table = found_and_true(&done, &barn::truth());
    println!("{}", lettered(&table));
    println!("{}", done.verdict().join("\n"));
    println!("mono sum on the hits: {:+.1} dB\n", done.mono_sum_gain_db());
    let report = folder.join("report.html");
    let chorus = chorus::sweep(&bundle, &folder.join("after-stereo.wav"), &folder)?;
    println!("chorus: null point on {}\n", chorus.words);
    let more = More {
        tables: vec![table],
        drawings: vec![chorus.drawing],
    };
    recall::write_with(&done, &report, more)?;
    println!("listen: {}", folder.join("before-mono.wav").display());
    println!("        {}", folder.join("after-mono.wav").display());
    println!("        {}", chorus.path.display());
    println!("read:   {}", report.display());
    Ok(())
}

/// Records the session in the barn and stores it as a recorder would.
fn record(folder: &Path) -> Outcome<TakeFiles> {
    let spinner = progress::bar("recording", None);
    let Session {
        overheads: [first, second],
        snare,
        kick,
    } = barn::record();
    spinner.finish_and_clear();
    let overheads = store(folder, "overheads.wav", &[&first, &second])?;
    let spots = vec![
        store(folder, "snare.wav", &[&snare])?,
        store(folder, "kick.wav", &[&kick])?,
    ];
    Ok(TakeFiles {
        overheads: Overheads::Together(overheads),
        spots,
    })
}

fn store(folder: &Path, name: &str, channels: &[&[f32]]) -> Outcome<PathBuf> {
    let frames = channels[0].len() as u64;
    let mut file = AudioWriter::create(&folder.join(name), SAMPLE_RATE, channels.len(), frames)?;
    file.write(channels)?;
    file.finish()
}

fn start(folder: &Path, (name, side, part): (&str, Side, Part), frames: u64) -> Outcome<Print> {
    let file = AudioWriter::create(&folder.join(name), SAMPLE_RATE, part.channels(), frames)?;
    Ok(Print { side, part, file })
}

/// Found, how sure, true and the difference, in samples; then the polarity.
fn found_and_true(done: &Done, truth: &Truth) -> Table {
    let found = done.found();
    let kick_gap = done.measured.found.get(1).and_then(|kick| kick.gap);
    let row = |name: &str, lag: Option<Lag>, true_s: f64| {
        let is = done.scale.samples(true_s);
        let was = lag.map(|lag| done.scale.samples(lag.attack_s));
        let spread = lag.map(|lag| format!("± {:.2}", done.scale.samples(lag.spread_s)));
        let shown = |value: Option<f64>| value.map_or("-".to_owned(), |value| signed(value, 2));
        let error = was.map(|was| was - is);
        vec![
            name.to_owned(),
            shown(was),
            spread.unwrap_or_default(),
            shown(Some(is)),
            shown(error),
        ]
    };
    let polarity = found.gap.map_or("-", |gap| polarity_word(gap.polarity));
    let is = polarity_word(Polarity::Inverted);
    let right = if polarity == is { "right" } else { "wrong" };
    let rows = vec![
        row("snare: second after first", found.gap, truth.gap_s),
        row("snare to first", found.spot_to_first, truth.spot_to_first_s),
        row(
            "snare to second",
            found.spot_to_second,
            truth.spot_to_second_s,
        ),
        row("kick: second after first", kick_gap, truth.kick_gap_s),
        ["polarity of the second", polarity, "", is, right]
            .map(str::to_owned)
            .to_vec(),
    ];
    let heads = ["samples at 48 kHz", "found", "", "true", "error"]
        .map(str::to_owned)
        .to_vec();
    Table {
        caption: "Found, and what the tape measure says".to_owned(),
        heads,
        rows,
    }
}

/// The table in fixed columns for the terminal.
fn lettered(table: &Table) -> String {
    let line = |row: &Vec<String>| {
        let [name, found, spread, is, error] = row.as_slice() else {
            return String::new();
        };
        format!("{name:26}{found:>10}{spread:>9}{is:>10}{error:>10}\n")
    };
    std::iter::once(&table.heads)
        .chain(&table.rows)
        .map(line)
        .collect()
}
