//! One example played through the built plugin, from the front of the song to its end.

use std::path::Path;

use plumbline_hosting::{Bundle, Tempo};

use super::examples::{Channels, Example, Move, Recipe, Set};
use super::sessions::Sessions;
use crate::alignment::Version;
use crate::audio::{AudioReader, AudioWriter, Sound, WaveForm};
use crate::decks::{Automation, AutomationLine, Bars, Control, Ending, Probes, render as play};
use crate::failure::Outcome;
use crate::simulation::groove;

/// Bars that a pass of two bars needs.
const PASS_BARS: f64 = 2.0;

/// The song over the demo's files.
pub fn bars() -> Bars {
    Bars {
        tempo: Tempo::steady(groove::TEMPO),
        beats_per_bar: 4,
        first_s: groove::first_bar_s(),
    }
}

/// The example as the plugin gives it out.
pub fn render(
    bundle: &Bundle,
    sessions: &Sessions,
    example: &Example,
    folder: &Path,
) -> Outcome<Sound> {
    let path = folder.join(format!("{}.wav", example.name));
    // The decks off: Sweep hands the pair on, delayed, nudged and printed as Align does.
    const OFF: Set = Set::Number("engage", 0.0);
    match example.recipe {
        Recipe::Correct(target, amount) => {
            sessions.correct(bundle, target, amount, &[(&path, Version::After)])?;
        }
        Recipe::Pair(sets) => deck(
            bundle,
            &sessions.pair,
            &path,
            &[&[OFF], sets].concat(),
            Move::Nothing,
        )?,
        Recipe::Tape(sets) => deck(
            bundle,
            &sessions.two_tracks,
            &path,
            &[&[OFF], sets].concat(),
            Move::Nothing,
        )?,
        Recipe::Decks(sets, moves) => deck(bundle, &sessions.two_tracks, &path, sets, moves)?,
    }
    let sound = Sound::read(&path)?;
    Ok(match example.channels {
        Channels::Stereo => sound,
        Channels::Mono => sound.mono(),
    })
}

fn deck(bundle: &Bundle, from: &Path, to: &Path, sets: &[Set], moves: Move) -> Outcome {
    let controls = sets.iter().map(|set| match *set {
        Set::Number(id, value) => Control::Number(id, value),
        Set::Word(id, word) => Control::Word(id, word.to_owned()),
    });
    let mut automation = Automation::new(bars(), controls.collect());
    match moves {
        Move::Nothing => {}
        Move::Pass(bar) => {
            automation.engage(Some(bar), Some(bar + PASS_BARS));
            automation.start_on_bar(bar);
        }
        Move::Line(id, points) => {
            let line = AutomationLine::parse(points, 100.0).map_err(anyhow::Error::msg)?;
            let before = line.at(0.0);
            automation.add_line(id, line, before);
        }
    }
    let mut input = AudioReader::open(from)?;
    let form = WaveForm {
        sample_rate: input.sample_rate(),
        channels: input.channels(),
        time_reference: None,
    };
    let mut output = AudioWriter::create(to, &form)?;
    play(
        bundle,
        &automation,
        &mut input,
        &mut output,
        Ending::Cut,
        Probes::Offset,
    )?;
    output.finish()?;
    Ok(())
}
