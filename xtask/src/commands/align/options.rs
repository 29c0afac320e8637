//! Options of `cargo xtask align`, and what they mean for the work.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use plumbline_dsp::plan::{Anchor, Match};

use crate::alignment::{
    AskedDrum, OutputFile, Outputs, Part, Settings, SpotFile, TimeRange, Version,
};
use crate::audio::{AudioWriter, Existing, Overheads, Take, TakeFiles, WaveForm, claim, stem};
use crate::commands::tape_options::TapeOptions;
use crate::commands::typed::{self, absolute, number};
use crate::failure::{Outcome, refuse};

/// Options of `cargo xtask align`.
#[derive(Args, Clone, Debug)]
#[command(
    after_help = "Without --out nothing is written. Exit codes: 0 done, 1 the work failed, 2 bad options or bad input."
)]
pub struct AlignOptions {
    /// Stereo file of the overheads: left is the first, right the second
    #[arg(value_name = "PAIR", required_unless_present = "first", conflicts_with_all = ["first", "second"])]
    pair: Option<PathBuf>,
    /// Mono file of the first overhead
    #[arg(long, value_name = "FILE", requires = "second")]
    first: Option<PathBuf>,
    /// Mono file of the second overhead
    #[arg(long, value_name = "FILE", requires = "first")]
    second: Option<PathBuf>,
    /// Close microphone; give it again for other drums: the first one is the side chain; with --out each is written, delayed
    /// to fit
    #[arg(long = "spot", value_name = "FILE")]
    spots: Vec<PathBuf>,
    /// Close microphone of the kick: one more --spot; with --spot-in-print the one that decides
    #[arg(long, value_name = "FILE")]
    kick: Option<PathBuf>,
    /// Write a two-track print beside the pair, with the kick (or else the first --spot) in time in both tracks at this
    /// level, dB
    #[arg(long, value_name = "DB", requires = "out", value_parser = level, allow_negative_numbers = true)]
    spot_in_print: Option<f64>,
    #[command(flatten)]
    tape: TapeOptions,
    /// Signal that stays where it is
    #[arg(long, value_enum, default_value = "later")]
    anchor: AnchorChoice,
    /// What lands together: the first wavefronts, the drum's body, or the whole kit in its mono sum
    #[arg(long = "match", value_enum, default_value = "attack")]
    target: MatchChoice,
    /// Drum that is aligned; auto: the spot's own unless that is the kick, else the snare
    #[arg(long, value_enum, default_value = "auto")]
    drum: DrumChoice,
    /// Part of the correction, per cent
    #[arg(long, value_name = "PERCENT", default_value = "100", value_parser = per_cent)]
    amount: f64,
    /// Air, degrees Celsius: turns time into distance
    #[arg(long, value_name = "DEGREES", default_value = "20", value_parser = degrees, allow_negative_numbers = true)]
    temperature: f64,
    /// How far a channel may come earlier, ms, as the plugin's Reach; left out: what the anchor needs
    #[arg(long, value_name = "MS", value_parser = reach)]
    reach: Option<f64>,
    /// Measure from here on, seconds; the whole take is corrected
    #[arg(long, value_name = "SECONDS", default_value = "0", value_parser = seconds)]
    from: f64,
    /// Measure up to here, seconds
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    to: Option<f64>,
    /// Folder for the corrected files
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Replace files that are already there
    #[arg(long, requires = "out")]
    force: bool,
    /// Print one JSON object and nothing else
    #[arg(long)]
    pub json: bool,
    /// Draw the recall sheet into the folder
    #[arg(long, requires = "out")]
    pub report: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum AnchorChoice {
    Later,
    First,
    Second,
    Spot,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum MatchChoice {
    Attack,
    Body,
    Kit,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum DrumChoice {
    Auto,
    Snare,
    Kick,
    Tom,
}

impl AlignOptions {
    /// Absolute paths: building the plugin changes the current folder.
    pub fn files(&self) -> TakeFiles {
        let overheads = match (&self.pair, &self.first, &self.second) {
            (None, Some(first), Some(second)) => Overheads::Apart {
                first: absolute(first),
                second: absolute(second),
            },
            (pair, ..) => Overheads::Together(absolute(pair.as_deref().unwrap_or(Path::new("")))),
        };
        TakeFiles {
            overheads,
            spots: self.spots().map(absolute).collect(),
        }
    }

    /// The close microphones, the deciding one first: the kick's where it goes into the print, else the first --spot.
    fn spots(&self) -> impl Iterator<Item = &Path> {
        let (before, after) = match self.spot_in_print {
            Some(_) => (self.kick.as_deref(), None),
            None => (None, self.kick.as_deref()),
        };
        let spots = self.spots.iter().map(PathBuf::as_path);
        before.into_iter().chain(spots).chain(after)
    }

    /// The part of the take to measure.
    pub fn range(&self) -> Outcome<TimeRange> {
        let to_s = self.to.unwrap_or(f64::INFINITY);
        if self.from >= to_s {
            return refuse(format!("--from {} is not before --to {to_s}", self.from));
        }
        Ok(TimeRange {
            from_s: self.from,
            to_s,
        })
    }

    /// The engineer's choices.
    pub fn settings(&self) -> Outcome<Settings> {
        let anchor = match self.anchor {
            AnchorChoice::Later => Anchor::Later,
            AnchorChoice::First => Anchor::First,
            AnchorChoice::Second => Anchor::Second,
            AnchorChoice::Spot if self.spots().next().is_none() => {
                return refuse("--anchor spot needs a --spot or a --kick");
            }
            AnchorChoice::Spot => Anchor::Spot,
        };
        let target = match self.target {
            MatchChoice::Attack => Match::Attack,
            MatchChoice::Body => Match::Body,
            MatchChoice::Kit => Match::Kit,
        };
        if self.spot_in_print.is_some() && self.spots().next().is_none() {
            return refuse("--spot-in-print needs a --kick or a --spot");
        }
        let tape = self.tape.settings()?;
        if tape.is_some() && self.out.is_none() {
            return refuse("--print needs --out: the folder for the print");
        }
        let drum = match self.drum {
            DrumChoice::Auto => AskedDrum::Auto,
            DrumChoice::Snare => AskedDrum::Snare,
            DrumChoice::Kick => AskedDrum::Kick,
            DrumChoice::Tom => AskedDrum::Tom,
        };
        Ok(Settings {
            anchor,
            target,
            drum,
            amount: self.amount,
            temperature_c: self.temperature,
            reach_ms: self.reach,
            spot_in_print_db: self.spot_in_print,
            tape,
        })
    }

    /// Names of the files to write; a sheet comes last.
    pub fn claim(&self, files: &TakeFiles, settings: &Settings) -> Outcome<Vec<PathBuf>> {
        let Some(folder) = &self.out else {
            return Ok(Vec::new());
        };
        let mut names: Vec<String> = match &files.overheads {
            Overheads::Together(pair) => vec![aligned(pair)],
            Overheads::Apart { first, second } => vec![aligned(first), aligned(second)],
        };
        names.extend(files.spots.iter().map(|spot| aligned(spot)));
        if let Some(twice) = twice(&names) {
            return refuse(format!(
                "two of the files would both be written as {twice}: rename one of them"
            ));
        }
        let stem = names[0].trim_end_matches("-aligned.wav").to_owned();
        if settings.makes_print() {
            names.push(format!("{stem}-print.wav"));
        }
        if self.report {
            names.push(format!("{stem}-recall.html"));
        }
        claim(
            &absolute(folder),
            &names,
            if self.force {
                Existing::Replace
            } else {
                Existing::Keep
            },
        )
    }

    /// The corrected pair in the shape it came in, each close microphone, and the print.
    pub fn outputs(&self, take: &Take, paths: &[PathBuf], settings: &Settings) -> Outcome<Outputs> {
        let mut parts = match self.pair {
            Some(_) => vec![(Version::After, Part::Pair)],
            None => vec![
                (Version::After, Part::First),
                (Version::After, Part::Second),
            ],
        };
        let channels = take.spot_channels();
        let (overheads, rest) = paths.split_at(parts.len().min(paths.len()));
        let (spots, rest) = rest.split_at(channels.len().min(rest.len()));
        let mut paths: Vec<&PathBuf> = overheads.iter().collect();
        if settings.makes_print() {
            parts.push((Version::Print, Part::Pair));
            paths.extend(rest.first());
        }
        let form = |channels, time_reference| WaveForm {
            sample_rate: take.sample_rate(),
            channels,
            time_reference,
        };
        let pair = paths.into_iter().zip(parts).map(|(path, (version, part))| {
            let form = form(part.channels(), take.time_reference());
            let file = AudioWriter::create(path, &form)?;
            Ok(OutputFile {
                version,
                part,
                file,
            })
        });
        let spots = spots.iter().enumerate().map(|(spot, path)| {
            let form = form(channels[spot], take.spot_time_reference(spot));
            let file = AudioWriter::create(path, &form)?;
            Ok(SpotFile { spot, file })
        });
        Ok(Outputs {
            pair: pair.collect::<Outcome<_>>()?,
            spots: spots.collect::<Outcome<_>>()?,
        })
    }
}

/// A name that stands twice among those to be written.
fn twice(names: &[String]) -> Option<&String> {
    let mut rest = names.iter().enumerate();
    rest.find_map(|(at, name)| names[..at].contains(name).then_some(name))
}

fn aligned(path: &Path) -> String {
    format!("{}-aligned.wav", stem(path))
}

fn per_cent(text: &str) -> Result<f64, String> {
    typed::per_cent(text, 0.0..=100.0, "the amount, in per cent,")
}

fn degrees(text: &str) -> Result<f64, String> {
    number(text, -10.0..=50.0, "the temperature, in degrees Celsius,")
}

fn reach(text: &str) -> Result<f64, String> {
    number(text, 0.0..=30.0, "the reach, in ms,")
}

fn level(text: &str) -> Result<f64, String> {
    number(text, -48.0..=12.0, "the level of the spot, in dB,")
}

fn seconds(text: &str) -> Result<f64, String> {
    number(text, 0.0..=f64::MAX, "a place in the take, in seconds,")
}
