//! `cargo xtask align`: the plugin on the user's own files.

mod answer;

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::Bundle;

use crate::audio_writer::{AudioWriter, Existing, claim};
use crate::bundle;
use crate::correct::{Corrected, Part, Print, Side, correct};
use crate::failure::{Outcome, refuse};
use crate::found::Found;
use crate::measure::{Measured, Range, Settings, measure};
use crate::recall;
use crate::take::{Overheads, Take, TakeFiles};
use crate::verdict::{Scale, verdict};
pub use answer::Answer;

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
    /// Close microphone; give it again for other drums: the first one decides, the others are shown
    #[arg(long = "spot", value_name = "FILE")]
    spots: Vec<PathBuf>,
    /// Signal that stays where it is
    #[arg(long, value_enum, default_value = "later")]
    anchor: AnchorWord,
    /// What lands together: the first wavefronts, or the drum's body
    #[arg(long = "match", value_enum, default_value = "attack")]
    target: MatchWord,
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
    json: bool,
    /// Draw the recall sheet into the folder
    #[arg(long, requires = "out")]
    report: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum AnchorWord {
    Later,
    First,
    Second,
    Spot,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum MatchWord {
    Attack,
    Body,
}

/// A take measured and corrected: everything that answers and sheets are made of.
pub struct Done {
    /// The files.
    pub files: TakeFiles,
    /// The choices.
    pub settings: Settings,
    /// Units.
    pub scale: Scale,
    /// First pass.
    pub measured: Measured,
    /// Second pass.
    pub corrected: Corrected,
    /// What was written.
    pub written: Vec<PathBuf>,
}

/// Measures, corrects, writes, answers.
pub fn run(options: &AlignOptions) -> Outcome {
    let files = options.files();
    let range = options.range()?;
    let settings = options.settings()?;
    let take = Take::open(&files)?;
    let paths = options.claim(&files)?;
    let bundle = Bundle::load(bundle::built_clap()?)?;
    let measured = measure(&bundle, &files, range, &settings)?;
    let prints = options.prints(&take, &paths, &measured)?;
    let mut done = work(
        &bundle,
        files,
        settings,
        measured,
        prints,
        take.sample_rate(),
    )?;
    if let (true, Some(path)) = (options.report, paths.last()) {
        recall::write(&done, path)?;
        done.written.push(path.clone());
    }
    let answer = Answer::of(&done);
    if options.json {
        println!("{}", serde_json::to_string_pretty(&answer)?);
    } else {
        print!("{}", answer.words(&done));
    }
    Ok(())
}

/// The second pass and what comes of it.
pub fn work(
    bundle: &Bundle,
    files: TakeFiles,
    settings: Settings,
    measured: Measured,
    mut prints: Vec<Print>,
    sample_rate: u32,
) -> Outcome<Done> {
    let own = &measured.found[0];
    let hits_s = own.own_hits_s();
    let corrected = correct(
        bundle,
        &files,
        &settings,
        &measured.state,
        own.missing_reach_s,
        &hits_s,
        &mut prints,
    )?;
    let written = prints
        .into_iter()
        .map(|print| print.file.finish())
        .collect::<Outcome<_>>()?;
    let scale = Scale {
        sample_rate: f64::from(sample_rate),
        temperature_c: settings.temperature_c,
    };
    Ok(Done {
        files,
        settings,
        scale,
        measured,
        corrected,
        written,
    })
}

impl Done {
    /// What was found with the spot that decides, with the reach that was still missing in the end.
    pub fn found(&self) -> Found {
        Found {
            missing_reach_s: self.corrected.missing_reach_s,
            ..self.measured.found[0].clone()
        }
    }

    /// The deciding spot's name.
    pub fn spot_name(&self) -> Option<String> {
        self.files.spots.first().map(|path| stem(path))
    }

    /// The verdict's sentences.
    pub fn verdict(&self) -> Vec<String> {
        verdict(
            &self.found(),
            self.spot_name().as_deref(),
            self.settings.target,
            &self.scale,
        )
    }

    /// Level of the mono sum on the hits, after minus before, dB.
    pub fn mono_sum_gain_db(&self) -> f64 {
        let (before, after) = (
            self.corrected.before.sum_power(),
            self.corrected.after.sum_power(),
        );
        if before > 0.0 && after > 0.0 {
            10.0 * (after / before).log10()
        } else {
            0.0
        }
    }
}

/// A file's name without folder and ending.
pub fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(
        || path.display().to_string(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

impl AlignOptions {
    /// Absolute paths: building the plugin changes the current folder.
    fn files(&self) -> TakeFiles {
        let overheads = match (&self.pair, &self.first, &self.second) {
            (None, Some(first), Some(second)) => Overheads::Apart {
                first: absolute(first),
                second: absolute(second),
            },
            (pair, ..) => Overheads::Together(absolute(pair.as_deref().unwrap_or(Path::new("")))),
        };
        TakeFiles {
            overheads,
            spots: self.spots.iter().map(|spot| absolute(spot)).collect(),
        }
    }

    fn range(&self) -> Outcome<Range> {
        let to_s = self.to.unwrap_or(f64::INFINITY);
        if self.from >= to_s {
            return refuse(format!("--from {} is not before --to {to_s}", self.from));
        }
        Ok(Range {
            from_s: self.from,
            to_s,
        })
    }

    fn settings(&self) -> Outcome<Settings> {
        let anchor = match self.anchor {
            AnchorWord::Later => Anchor::Later,
            AnchorWord::First => Anchor::First,
            AnchorWord::Second => Anchor::Second,
            AnchorWord::Spot if self.spots.is_empty() => {
                return refuse("--anchor spot needs a --spot");
            }
            AnchorWord::Spot => Anchor::Spot,
        };
        let target = match self.target {
            MatchWord::Attack => Match::Attack,
            MatchWord::Body => Match::Body,
        };
        Ok(Settings {
            anchor,
            target,
            amount: self.amount,
            temperature_c: self.temperature,
            reach_ms: self.reach,
        })
    }

    /// Names of the files to write; a sheet comes last.
    fn claim(&self, files: &TakeFiles) -> Outcome<Vec<PathBuf>> {
        let Some(folder) = &self.out else {
            return Ok(Vec::new());
        };
        let mut names: Vec<String> = match &files.overheads {
            Overheads::Together(pair) => vec![aligned(pair)],
            Overheads::Apart { first, second } => vec![aligned(first), aligned(second)],
        };
        if names.len() == 2 && names[0] == names[1] {
            return refuse(
                "the two overheads have the same file name: rename one, so that both can be written",
            );
        }
        if self.report {
            names.push(format!(
                "{}-recall.html",
                names[0].trim_end_matches("-aligned.wav")
            ));
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

    /// The corrected pair in the shape it came in.
    fn prints(&self, take: &Take, paths: &[PathBuf], measured: &Measured) -> Outcome<Vec<Print>> {
        let parts: &[Part] = if self.pair.is_some() {
            &[Part::Pair]
        } else {
            &[Part::First, Part::Second]
        };
        let rate = take.sample_rate();
        let frames = (measured.length_s * f64::from(rate)).round() as u64;
        let create = |(path, part): (&PathBuf, &Part)| {
            let file = AudioWriter::create(path, rate, part.channels(), frames)?;
            Ok(Print {
                side: Side::After,
                part: *part,
                file,
            })
        };
        paths.iter().zip(parts).map(create).collect()
    }
}

fn aligned(path: &Path) -> String {
    format!("{}-aligned.wav", stem(path))
}

/// Building the plugin changes the current folder: paths must not depend on it.
pub fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// A typed number within a range.
pub fn number(text: &str, range: std::ops::RangeInclusive<f64>, what: &str) -> Result<f64, String> {
    let value: f64 = text
        .trim()
        .parse()
        .map_err(|_| format!("{text:?} is not a number"))?;
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(format!("{what} is {} to {}", range.start(), range.end()))
    }
}

fn per_cent(text: &str) -> Result<f64, String> {
    number(
        text.trim_end_matches('%'),
        0.0..=100.0,
        "the amount, in per cent,",
    )
}

fn degrees(text: &str) -> Result<f64, String> {
    number(text, -10.0..=50.0, "the temperature, in degrees Celsius,")
}

fn reach(text: &str) -> Result<f64, String> {
    number(text, 0.0..=30.0, "the reach, in ms,")
}

fn seconds(text: &str) -> Result<f64, String> {
    number(text, 0.0..=f64::MAX, "a place in the take, in seconds,")
}
