//! Sound examples of the tape: the two tracks printed at three levels, two further speeds and the other curve.

use std::path::{Path, PathBuf};

use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_hosting::{Bundle, Tempo};

use crate::audio::{AudioReader, AudioWriter, WaveForm};
use crate::decks::{Automation, Bars, Control, Ending, Probes, render};
use crate::failure::Outcome;
use crate::simulation::groove;
use crate::tape::parameters;

/// File name, level to tape in dB, speed and curve.
const EXAMPLES: [(&str, f64, TapeSpeed, Equalisation); 6] = [
    (
        "tape-38-level-0.wav",
        0.0,
        TapeSpeed::Cm38,
        Equalisation::Iec,
    ),
    (
        "tape-38-level-6.wav",
        6.0,
        TapeSpeed::Cm38,
        Equalisation::Iec,
    ),
    (
        "tape-38-level-12.wav",
        12.0,
        TapeSpeed::Cm38,
        Equalisation::Iec,
    ),
    (
        "tape-19-level-6.wav",
        6.0,
        TapeSpeed::Cm19,
        Equalisation::Iec,
    ),
    (
        "tape-76-level-6.wav",
        6.0,
        TapeSpeed::Cm76,
        Equalisation::Iec,
    ),
    (
        "tape-38-nab-level-6.wav",
        6.0,
        TapeSpeed::Cm38,
        Equalisation::Nab,
    ),
];

/// Prints the two tracks into new files of the folder.
pub fn write(bundle: &Bundle, two_tracks: &Path, folder: &Path) -> Outcome<Vec<PathBuf>> {
    let files = EXAMPLES.map(|(name, level_db, speed, equalisation)| {
        let tape = PrintSettings {
            level_db,
            speed,
            equalisation,
            ..PrintSettings::default()
        };
        example(bundle, two_tracks, &folder.join(name), &tape)
    });
    files.into_iter().collect()
}

/// The print on the fixed deck alone.
fn example(
    bundle: &Bundle,
    two_tracks: &Path,
    path: &Path,
    tape: &PrintSettings,
) -> Outcome<PathBuf> {
    let bars = Bars {
        tempo: Tempo::steady(groove::TEMPO),
        beats_per_bar: 4,
        first_s: groove::first_bar_s(),
    };
    let constants = parameters(tape).into_iter().chain([("engage", 0.0)]);
    let constants = constants.map(|(id, value)| Control::Number(id, value));
    let automation = Automation::new(bars, constants.collect());
    let mut pair = AudioReader::open(two_tracks)?;
    let form = WaveForm {
        sample_rate: pair.sample_rate(),
        channels: pair.channels(),
        time_reference: None,
    };
    let mut print = AudioWriter::create(path, &form)?;
    let (ending, probes) = (Ending::Cut, Probes::Offset);
    render(bundle, &automation, &mut pair, &mut print, ending, probes)?;
    print.finish()
}
