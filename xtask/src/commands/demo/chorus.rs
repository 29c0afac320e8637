//! The chorus of the demo: the two tracks printed hot on tape, one pass of two decks, its null point on a bar line.

use std::path::{Path, PathBuf};

use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};
use plumbline_hosting::{Bundle, Tempo};

use crate::audio::{AudioReader, AudioWriter, WaveForm};
use crate::decks::{Automation, Bars, Control, Ending, NullPoint, Probes, render};
use crate::failure::Outcome;
use crate::sheet::draw_decks;
use crate::simulation::groove;
use crate::tape::parameters;

/// The pass takes bars 2 and 3: the null point is where bar 3 begins. The other bars stay
/// as they are.
const STARTS_ON: f64 = 2.0;

/// Hot enough that the snare's attacks are rounded.
pub const TAPE: PrintSettings = PrintSettings {
    level_db: 9.0,
    speed: TapeSpeed::Cm38,
    equalisation: Equalisation::Iec,
    hiss_db: None,
    lineup: Lineup::STANDARD,
};

/// What was made of the chorus.
pub struct Chorus {
    /// The print.
    pub path: PathBuf,
    /// Offset and comb as inline SVG.
    pub drawing: String,
    /// Where the null point fell.
    pub words: String,
}

/// Sweeps the two tracks into a new file of the folder.
pub fn sweep(bundle: &Bundle, two_tracks: &Path, folder: &Path) -> Outcome<Chorus> {
    let bars = Bars {
        tempo: Tempo::steady(groove::TEMPO),
        beats_per_bar: 4,
        first_s: groove::first_bar_s(),
    };
    let words = [("motion", "Pass"), ("length", "2 bars"), ("curve", "Sine")];
    let words = words.map(|(id, word)| Control::Word(id, word.to_owned()));
    let tape = parameters(&TAPE).into_iter();
    let tape = tape.map(|(id, value)| Control::Number(id, value));
    let mut automation = Automation::new(bars, words.into_iter().chain(tape).collect());
    automation.engage(Some(STARTS_ON), Some(STARTS_ON + 2.0));
    automation.start_on_bar(STARTS_ON);
    let mut pair = AudioReader::open(two_tracks)?;
    let rate = pair.sample_rate();
    let path = folder.join("chorus-pass.wav");
    let mut print = AudioWriter::create(
        &path,
        &WaveForm {
            sample_rate: rate,
            channels: pair.channels(),
            time_reference: None,
        },
    )?;
    let probes = Probes::OffsetAndComb;
    let rendered = render(
        bundle,
        &automation,
        &mut pair,
        &mut print,
        Ending::Cut,
        probes,
    )?;
    let rate = f64::from(rate);
    let line_s = bars.seconds(STARTS_ON + 1.0);
    let null = |null: &NullPoint| {
        let at_s = null.middle() / rate;
        let off = (at_s - line_s) * rate;
        format!("{}, {off:+.2} samples from the bar line", bars.words(at_s))
    };
    let nulls: Vec<String> = rendered.nulls.iter().map(null).collect();
    Ok(Chorus {
        path: print.finish()?,
        drawing: draw_decks(&rendered, &bars, rate),
        words: nulls.join("; "),
    })
}
