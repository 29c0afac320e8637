//! `cargo xtask sweep`: two decks on the user's own file.
//!
//! Plays the file through the decks under automation, writes what comes out and, when asked, a figure of offset and comb,
//! and says where the null points are. The work is `decks`'; here stand the options, the order of work and the answer.

mod answer;
mod choices;
mod options;
mod start;
mod values;

use anyhow::Context;
use plumbline_hosting::Bundle;

use crate::audio::{AudioReader, AudioWriter, WaveForm};
use crate::commands::typed::absolute;
use crate::decks::render;
use crate::failure::{Outcome, refuse};
use crate::project::plugin;
use crate::sheet::{draw_decks, standalone};
use crate::tape::LineUp;
use answer::Answer;
pub use options::SweepOptions;
use start::Start;

/// Plays, writes, answers.
///
/// # Errors
///
/// When the file or options cannot be worked with, or the work fails.
pub fn run(options: &SweepOptions) -> Outcome {
    let input = absolute(&options.input);
    // Options that make no sense are refused before anything is built.
    let bundle = match &options.start {
        Some(_) => Some(Bundle::load(plugin::built_clap()?)?),
        None => None,
    };
    let named = bundle.as_ref().zip(options.start.as_deref());
    let start = named.map(|(bundle, name)| Start::named(bundle, name));
    let start = start.transpose()?;
    let automation = options.automation(start.as_ref())?;
    let tape = options.tape(start.as_ref())?;
    let mut reader = AudioReader::open(&input)?;
    check_channels(&reader)?;
    let (out, figure) = options.claim(&input)?;
    let bundle = match bundle {
        Some(bundle) => bundle,
        None => Bundle::load(plugin::built_clap()?)?,
    };
    let rate = reader.sample_rate();
    let mut print = AudioWriter::create(
        &out,
        &WaveForm {
            sample_rate: rate,
            channels: reader.channels(),
            time_reference: reader.time_reference(),
        },
    )?;
    let (ending, probes) = (options.ending(), options.probes());
    let rendered = render(
        &bundle,
        &automation,
        &mut reader,
        &mut print,
        ending,
        probes,
    )?;
    let mut written = vec![print.finish()?];
    if let Some(figure) = figure {
        let drawing = draw_decks(&rendered, &automation.bars, f64::from(rate));
        std::fs::write(&figure, standalone(&drawing))
            .with_context(|| format!("cannot write {}", figure.display()))?;
        written.push(figure);
    }
    let answer = Answer {
        tape: tape.as_ref().map(LineUp::of),
        ..Answer::of(&rendered, &automation.bars, f64::from(rate), written)
    };
    if options.json {
        println!("{}", serde_json::to_string_pretty(&answer)?);
    } else {
        print!("{}", answer.words(&automation.bars));
    }
    Ok(())
}

fn check_channels(reader: &AudioReader) -> Outcome {
    match reader.channels() {
        1 | 2 => Ok(()),
        channels => refuse(format!(
            "{} has {channels} channels: the decks take a mono or a stereo file",
            reader.path().display()
        )),
    }
}
