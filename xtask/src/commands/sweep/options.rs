//! Options of `cargo xtask sweep`, and what they mean for the work.

use std::path::{Path, PathBuf};

use clap::Args;
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_hosting::Tempo;

use super::choices::{CurveChoice, MotionChoice, length};
use super::start::Start;
use super::values;
use crate::audio::{Existing, claim};
use crate::commands::tape_options::TapeOptions;
use crate::commands::typed::absolute;
use crate::decks::{Automation, AutomationLine, Bars, Control, Ending, Probes};
use crate::failure::{Failure, Outcome, refuse};
use crate::tape;

/// Options of `cargo xtask sweep`.
#[derive(Args, Clone, Debug)]
#[command(
    long_about = "Plays a file on two decks with the real plugin: the moving deck slips past the fixed one, and the \
                  comb runs down, vanishes at the null point and returns. Says where the null points fall.\n\nReads \
                  mono and stereo WAV, AIFF and FLAC of any rate. Writes a 32-bit float WAV of the same length, with \
                  the plugin's latency taken out.\n\nBars count from 1. A line is one value or points BAR:VALUE joined \
                  by straight lines: --offset 3:-2,5:0,7:2 passes the null point on bar 5.",
    after_help = "Examples:\n  cargo xtask sweep chorus.wav --motion pass --start-at 3 --length 4bars --tempo 108 --out \
                  passed.wav\n  cargo xtask sweep chorus.wav --motion pass --null-at 33 --ease 1 --length 8bars --tempo 108 --out \
                  eased.wav\n  cargo xtask sweep chorus.wav --start \"On the first beat\" --null-at 33 --tempo 108 --out \
                  started.wav\n  cargo xtask sweep chorus.wav --motion drag --drag 1:0,1.5:60,2:0,3:0,3.5:-60,4:0 --tempo \
                  108 --out dragged.wav\n\nExit codes: 0 done, 1 the work failed, 2 bad options or bad input.",
    allow_negative_numbers = true
)]
pub struct SweepOptions {
    /// The print: a mono or stereo file
    #[arg(value_name = "IN")]
    pub input: PathBuf,
    /// File to write
    #[arg(long, value_name = "OUT")]
    out: PathBuf,
    /// Replace files that are already there
    #[arg(long)]
    force: bool,
    /// Draw offset and comb over time into this SVG file
    #[arg(long, value_name = "SVG")]
    figure: Option<PathBuf>,
    /// Print one JSON object and nothing else
    #[arg(long)]
    pub json: bool,
    /// Let the moving deck run out: the file gets longer by some milliseconds
    #[arg(long)]
    tail: bool,

    /// A starting point of the plugin's, by its name; the options count more than it
    #[arg(long, value_name = "NAME")]
    pub start: Option<String>,
    /// What moves the moving deck; needed where no starting point says it
    #[arg(long, value_enum, required_unless_present = "start")]
    motion: Option<MotionChoice>,
    /// Moving deck minus fixed deck, ms: a value or a line. Hand: the position; else the centre of the travel
    #[arg(long, value_name = "MS", value_parser = values::offset, allow_hyphen_values = true)]
    offset: Option<AutomationLine>,
    /// Braking force of the drag motion, per cent: a value or a line. Positive brakes the moving deck
    #[arg(long, value_name = "PERCENT", value_parser = values::drag, allow_hyphen_values = true)]
    drag: Option<AutomationLine>,
    /// Greatest distance from the centre, ms [default: 3]
    #[arg(long, value_name = "MS", value_parser = values::range)]
    range: Option<f64>,
    /// One cycle or one pass, in time with the song [default: 4bars]
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    length: Option<String>,
    /// Cycles or passes a second, free of the song's tempo
    #[arg(long, value_name = "HZ", conflicts_with = "length", value_parser = values::rate)]
    rate: Option<f64>,
    /// Shape of a cycle or a pass [default: sine]
    #[arg(long, value_enum)]
    curve: Option<CurveChoice>,
    /// Bar on which a pass starts; give it again for more passes [default: 1]
    #[arg(long, value_name = "BAR", value_parser = values::bar)]
    start_at: Vec<f64>,
    /// Bar that the pass has its null point on, 33.25 a quarter of a bar later; no cue is needed
    #[arg(long, value_name = "BAR", conflicts_with = "start_at", value_parser = values::null_at)]
    null_at: Option<f64>,
    /// Let the comb come in and go out over so many bars of the pass [default: 0]
    #[arg(long, value_name = "BARS", value_parser = values::ease)]
    ease: Option<f64>,

    /// Tempo of the song, quarter notes a minute: a value, or a ramp between two points BAR:BPM
    #[arg(long, value_name = "BPM", default_value = "120", value_parser = values::tempo)]
    tempo: AutomationLine,
    /// Quarter notes in a bar
    #[arg(long, value_name = "BEATS", default_value = "4", value_parser = clap::value_parser!(u16).range(1..=16))]
    beats_per_bar: u16,
    /// Where bar 1 begins in the file, seconds
    #[arg(long, value_name = "SECONDS", default_value = "0", value_parser = values::position)]
    first_bar: f64,

    /// Engage the decks on this bar; before it the fixed deck plays alone
    #[arg(long, value_name = "BAR", value_parser = values::bar)]
    from: Option<f64>,
    /// Let go of the decks on this bar
    #[arg(long, value_name = "BAR", value_parser = values::bar)]
    to: Option<f64>,
    /// From the fixed deck (0) over both alike (50) to the moving deck (100), per cent [default: 50]
    #[arg(long, value_name = "PERCENT", value_parser = values::per_cent)]
    blend: Option<f64>,
    /// The second channel's offset as a part of the first's, per cent; negative: the other way round [default: 100]
    #[arg(long, value_name = "PERCENT", value_parser = values::width)]
    width: Option<f64>,
    /// Reverse the moving deck's polarity: the null point is silent
    #[arg(long)]
    flip: bool,
    /// Wow, per cent weighted [default: 0]
    #[arg(long, value_name = "PERCENT", value_parser = values::wobble)]
    wow: Option<f64>,
    /// Flutter, per cent weighted [default: 0]
    #[arg(long, value_name = "PERCENT", value_parser = values::wobble)]
    flutter: Option<f64>,
    #[command(flatten)]
    tape: TapeOptions,
    /// Output level, dB
    #[arg(long, value_name = "DB", default_value = "0", value_parser = values::output)]
    output: f64,
}

impl SweepOptions {
    /// What the decks do, from what was typed over a starting point.
    pub fn automation(&self, start: Option<&Start>) -> Outcome<Automation> {
        let bars = Bars {
            tempo: match *self.tempo.points() {
                [from, to] => Bars::ramp(from, to, self.beats_per_bar),
                _ => Tempo::steady(self.tempo.at(1.0)),
            },
            beats_per_bar: self.beats_per_bar,
            first_s: self.first_bar,
        };
        let said = start.map(|start| start.motion);
        // One of them is there: the command line sees to it.
        let motion = self.motion.or(said).unwrap_or(MotionChoice::Hand);
        self.check(motion)?;
        let mut automation = Automation::new(bars, self.constants()?);
        automation.start = start.map(|start| start.point.clone());
        automation.engage(self.from, self.to);
        if let Some(offset) = &self.offset {
            automation.add_line("offset", offset.clone(), offset.at(bars.bar(0.0)));
        }
        if let Some(drag) = &self.drag {
            automation.add_line("drag", drag.clone(), 0.0);
        }
        if motion == MotionChoice::Pass && self.null_at.is_none() {
            self.starts(&mut automation)?;
        }
        Ok(automation)
    }

    fn constants(&self) -> Outcome<Vec<Control>> {
        let sync = match (self.rate, &self.length) {
            (Some(_), _) => Some(0.0),
            (None, Some(_)) => Some(1.0),
            (None, None) => None,
        };
        let numbers = [
            ("range", self.range),
            ("sync", sync),
            ("rate", self.rate),
            ("null_at", self.null_at),
            ("ease", self.ease),
            ("blend", self.blend),
            ("width", self.width),
            ("flip", self.flip.then_some(1.0)),
            ("wow", self.wow),
            ("flutter", self.flutter),
            ("output", Some(self.output)),
        ];
        let words = [
            ("motion", self.motion.map(|motion| format!("{motion:?}"))),
            ("curve", self.curve.map(|curve| format!("{curve:?}"))),
            ("length", self.length.clone()),
        ];
        let numbers = numbers.into_iter();
        let numbers = numbers.filter_map(|(id, value)| Some(Control::Number(id, value?)));
        let words = words.into_iter();
        let words = words.filter_map(|(id, word)| Some(Control::Word(id, word?)));
        let tape = self.tape.settings()?;
        let tape = tape.iter().flat_map(tape::parameters);
        let tape = tape.map(|(id, value)| Control::Number(id, value));
        Ok(numbers.chain(words).chain(tape).collect())
    }

    /// The tape machine, typed or the starting point's; `None`: the file is the print already.
    pub fn tape(&self, start: Option<&Start>) -> Outcome<Option<PrintSettings>> {
        let typed = self.tape.settings()?;
        Ok(typed.or(start.and_then(|start| start.tape)))
    }

    /// What makes no sense together.
    fn check(&self, motion: MotionChoice) -> Outcome {
        if motion == MotionChoice::Hand && self.offset.is_none() && self.start.is_none() {
            return refuse(
                "--motion hand needs --offset: where the hand holds the deck, in ms, or a line such as 3:-2,5:0,7:2",
            );
        }
        if motion == MotionChoice::Drag && self.drag.is_none() {
            return refuse(
                "--motion drag needs --drag: the force in per cent, as a line such as 2:0,2.5:60,3:0",
            );
        }
        if motion != MotionChoice::Drag && self.drag.is_some() {
            return refuse("--drag works with --motion drag");
        }
        if motion != MotionChoice::Pass && !self.start_at.is_empty() {
            return refuse("--start-at works with --motion pass");
        }
        if motion != MotionChoice::Pass && (self.null_at.is_some() || self.ease.is_some()) {
            return refuse("--null-at and --ease work with --motion pass");
        }
        match (self.from, self.to) {
            (Some(from), Some(to)) if from >= to => {
                refuse(format!("--from bar {from} is not before --to bar {to}"))
            }
            _ => Ok(()),
        }
    }

    fn starts(&self, automation: &mut Automation) -> Outcome {
        let starts = match self.start_at.as_slice() {
            [] => &[1.0],
            starts => starts,
        };
        for &bar in starts {
            match self.rate {
                Some(_) => automation.start_at_once(bar),
                None if bar.fract() == 0.0 => automation.start_on_bar(bar),
                None => {
                    return refuse(format!(
                        "a pass with a --length starts on a bar line: --start-at {bar} is none"
                    ));
                }
            }
        }
        Ok(())
    }

    /// Checks that both files may be written.
    pub fn claim(&self, input: &Path) -> Outcome<(PathBuf, Option<PathBuf>)> {
        let existing = if self.force {
            Existing::Replace
        } else {
            Existing::Keep
        };
        let out = claim_file(&self.out, existing, input)?;
        let figure = self.figure.as_deref();
        let figure = figure.map(|figure| claim_file(figure, existing, input));
        let figure = figure.transpose()?;
        if figure.as_ref() == Some(&out) {
            return refuse("--out and --figure name the same file");
        }
        Ok((out, figure))
    }

    /// What follows the end of the file.
    pub fn ending(&self) -> Ending {
        if self.tail {
            Ending::RunOut
        } else {
            Ending::Cut
        }
    }

    /// What is measured beside the print.
    pub fn probes(&self) -> Probes {
        match self.figure {
            Some(_) => Probes::OffsetAndComb,
            None => Probes::Offset,
        }
    }
}

/// One file to write: never the input, and nothing that is there unless it may be replaced.
fn claim_file(path: &Path, existing: Existing, input: &Path) -> Outcome<PathBuf> {
    let path = absolute(path);
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return refuse(format!("{} is no file name", path.display()));
    };
    if path.is_dir() {
        return refuse(format!("{} is a folder: name a file in it", path.display()));
    }
    let same = |a: &Path, b: &Path| a.canonicalize().ok() == b.canonicalize().ok();
    if path.exists() && same(&path, input) {
        return refuse("the file to write is the file to read: name another");
    }
    let name = name.to_string_lossy().into_owned();
    let mut claimed = claim(folder, &[name], existing)?;
    claimed
        .pop()
        .ok_or_else(|| Failure::Input(format!("{} is no file name", path.display())))
}
