//! Grooves of real strokes with a known gap: one kit through a near and a far pair, no stroke twice running.

use std::path::Path;
use std::sync::OnceLock;

use plumbline_dsp::analyser::Inputs;

use crate::measure::measure;
use crate::recordings::{flac, folder, names};
use crate::scene::Noise;
use crate::support::assert_near;

/// Samples a second of every groove.
pub const RATE: f64 = crate::recordings::RATE;
/// Beats a minute.
const TEMPO: f64 = 104.0;
/// Human timing, standard deviation in seconds.
const TIMING_S: f64 = 0.004;
/// Silence before the first beat, seconds.
const PRE_ROLL_S: f64 = 0.5;
/// Peak of the loudest channel, full scale = 1.
const PEAK: f64 = 0.7;

/// What is played besides kick, snare and toms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Kick, snare with soft ghosts, toms every fourth bar.
    Plain,
    /// Closed hats in eighths.
    Hats,
    /// Half-open hats in eighths.
    HalfOpen,
    /// Open hats in quarters.
    Open,
}

impl Style {
    pub const ALL: [Self; 4] = [Self::Plain, Self::Hats, Self::HalfOpen, Self::Open];
}

/// Where the two overheads stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pair {
    /// `oh_mic` and `side_mic`.
    Near,
    /// `front_mic` and `wndw_mic`.
    Far,
}

impl Pair {
    pub const ALL: [Self; 2] = [Self::Near, Self::Far];

    fn microphones(self) -> [Microphone; 2] {
        match self {
            Self::Near => [Microphone::Overhead, Microphone::Side],
            Self::Far => [Microphone::Front, Microphone::Window],
        }
    }

    /// Gap of a drum in samples and what twelve independent pickers agree to (recordings/README.md), where they do.
    pub fn truth(self, drum: Drum) -> Option<Truth> {
        let (gap, tolerance) = match (self, drum) {
            (Self::Near, Drum::Snare) => (1.0, 1.5),
            (Self::Far, Drum::Snare) => (-1.2, 1.0),
            (Self::Near, Drum::Kick) => (-32.6, 5.0),
            _ => return None,
        };
        Some(Truth { gap, tolerance })
    }
}

/// What the recordings say of a drum, samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    pub gap: f64,
    pub tolerance: f64,
}

/// The second overhead's cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cable {
    AsRecorded,
    Reversed,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drum {
    Kick,
    Snare,
    ClosedHat,
    HalfOpenHat,
    OpenHat,
    HighTom,
    LowTom,
}

impl Drum {
    pub const ALL: [Self; 7] = [
        Self::Kick,
        Self::Snare,
        Self::ClosedHat,
        Self::HalfOpenHat,
        Self::OpenHat,
        Self::HighTom,
        Self::LowTom,
    ];

    /// First letters of its files' names.
    fn files(self) -> &'static str {
        match self {
            Self::Kick => "ks_",
            Self::Snare => "sc_",
            Self::ClosedHat => "ht_",
            Self::HalfOpenHat => "hh_",
            Self::OpenHat => "ho_",
            Self::HighTom => "th_",
            Self::LowTom => "tl_",
        }
    }
}

#[derive(Clone, Copy)]
enum Microphone {
    Overhead,
    Side,
    Front,
    Window,
    Kick,
    Snare,
}

/// In the order of [`Microphone`].
const FOLDERS: [&str; 6] = [
    "oh_mic",
    "side_mic",
    "front_mic",
    "wndw_mic",
    "kick_mic",
    "snare_mic",
];

/// What is played, and through what it is heard.
#[derive(Clone, Copy, Debug)]
pub struct GrooveSettings {
    pub style: Style,
    pub pair: Pair,
    /// Gain of the hats: 1 = as recorded, 2 = +6 dB.
    pub cymbals: f64,
    pub seed: u64,
    pub bars: usize,
    pub second: Cable,
    /// Drums that are heard; the places of the strokes do not depend on it.
    pub drums: &'static [Drum],
}

impl Default for GrooveSettings {
    fn default() -> Self {
        Self {
            style: Style::Plain,
            pair: Pair::Near,
            cymbals: 1.0,
            seed: 1_000,
            bars: 8,
            second: Cable::AsRecorded,
            drums: &Drum::ALL,
        }
    }
}

impl GrooveSettings {
    /// The snare's truth, or the kick's where no snare is heard. Cymbals above +6 dB are allowed a wider tolerance.
    pub fn truth(&self) -> Truth {
        let heard = |drum: &Drum| self.drums.contains(drum);
        let drum = [Drum::Snare, Drum::Kick].into_iter().find(heard);
        let truth = drum.and_then(|drum| self.pair.truth(drum));
        let mut truth = truth.expect("a drum whose gap is known");
        if self.cymbals > 2.0 && heard(&Drum::Snare) {
            truth.tolerance = match self.pair {
                Pair::Near => 2.5,
                Pair::Far => 1.5,
            };
        }
        truth
    }

    /// Every cell, style and seed has strokes of its own; the same strokes at every gain of the cymbals.
    fn noise(&self) -> Noise {
        Noise::new(self.seed << 8 | (self.style as u64) << 4 | self.pair as u64)
    }
}

/// One groove as four microphones heard it.
#[derive(Clone)]
pub struct Groove {
    pub first: Vec<f32>,
    pub second: Vec<f32>,
    pub kick: Vec<f32>,
    pub snare: Vec<f32>,
    pub truth: Truth,
}

/// One stroke: the same instant through every microphone, in the order of [`FOLDERS`].
type Stroke = [Vec<f32>; FOLDERS.len()];

/// The strokes of every drum, in the order of [`Drum`].
pub struct Strokes([Vec<Stroke>; Drum::ALL.len()]);

/// The strokes, decoded once; `None` (and a note) without the recordings.
pub fn strokes() -> Option<&'static Strokes> {
    static STROKES: OnceLock<Option<Strokes>> = OnceLock::new();
    STROKES
        .get_or_init(|| {
            let grooves = folder()?.join("grooves");
            if !grooves.is_dir() {
                println!("skipped: no strokes for grooves");
                return None;
            }
            Some(Strokes(Drum::ALL.map(|drum| read(&grooves, drum))))
        })
        .as_ref()
}

fn read(grooves: &Path, drum: Drum) -> Vec<Stroke> {
    let files = names(&grooves.join(FOLDERS[0]));
    let mine = files.iter().filter(|name| name.starts_with(drum.files()));
    mine.map(|name| FOLDERS.map(|folder| flac(&grooves.join(folder).join(name)).swap_remove(0)))
        .collect()
}

/// A groove being assembled.
struct Assembly<'a> {
    strokes: &'a Strokes,
    settings: &'a GrooveSettings,
    microphones: [Microphone; 4],
    noise: Noise,
    last: [Option<usize>; Drum::ALL.len()],
    channels: [Vec<f64>; 4],
}

impl Strokes {
    /// Assembles the groove: another stroke of a drum each time, every microphone at the same offset.
    pub fn groove(&self, settings: &GrooveSettings) -> Groove {
        let length =
            (settings.bars as f64 * 4.0 * 60.0 / TEMPO * RATE) as usize + 2 * RATE as usize;
        let mut noise = settings.noise();
        let [first, second] = settings.pair.microphones();
        let mut assembly = Assembly {
            strokes: self,
            settings,
            microphones: [first, second, Microphone::Kick, Microphone::Snare],
            last: [None; Drum::ALL.len()],
            channels: std::array::from_fn(|_| {
                noise.normals(length).iter().map(|x| x * 1e-6).collect()
            }),
            noise,
        };
        for beat in 0..settings.bars * 4 {
            assembly.beat(beat);
        }
        assembly.finished()
    }
}

impl Assembly<'_> {
    fn beat(&mut self, number: usize) {
        let beat = number as f64;
        let main = if number.is_multiple_of(2) {
            Drum::Kick
        } else {
            Drum::Snare
        };
        self.stroke(main, beat, [0.7, 1.0]);
        if number % 4 == 3 {
            self.stroke(Drum::Kick, beat + 0.5, [0.5, 0.8]);
        }
        if number % 4 == 1 {
            self.stroke(Drum::Snare, beat + 0.75, [0.1, 0.25]);
        }
        self.cymbals(beat);
        if number % 16 == 15 {
            for (drum, later) in [
                (Drum::HighTom, 0.25),
                (Drum::LowTom, 0.5),
                (Drum::LowTom, 0.75),
            ] {
                self.stroke(drum, beat + later, [0.8, 0.8]);
            }
        }
    }

    fn cymbals(&mut self, beat: f64) {
        let (drum, halves, loudest): (_, &[f64], _) = match self.settings.style {
            Style::Plain => return,
            Style::Hats => (Drum::ClosedHat, &[0.0, 0.5], 1.0),
            Style::HalfOpen => (Drum::HalfOpenHat, &[0.0, 0.5], 1.0),
            Style::Open => (Drum::OpenHat, &[0.0], 0.9),
        };
        let gain = self.settings.cymbals;
        for half in halves {
            self.stroke(drum, beat + half, [0.5 * gain, loudest * gain]);
        }
    }

    /// One stroke at a beat, its gain drawn from a range.
    fn stroke(&mut self, drum: Drum, beat: f64, gain: [f64; 2]) {
        let strokes = &self.strokes.0[drum as usize];
        let mut number = (self.noise.uniform() * strokes.len() as f64) as usize;
        let last = &mut self.last[drum as usize];
        if *last == Some(number) {
            number = (number + 1) % strokes.len();
        }
        *last = Some(number);
        let gain = self.noise.between(gain[0], gain[1]);
        let time_s = PRE_ROLL_S + beat * 60.0 / TEMPO + TIMING_S * self.noise.normal();
        let start = (time_s * RATE) as usize;
        if !self.settings.drums.contains(&drum) {
            return;
        }
        for (channel, microphone) in self.channels.iter_mut().zip(self.microphones) {
            let sound = &strokes[number][microphone as usize];
            for (out, x) in channel[start..].iter_mut().zip(sound) {
                *out += gain * f64::from(*x);
            }
        }
    }

    /// Four channels, the loudest at the peak that was asked for.
    fn finished(self) -> Groove {
        let loudest = self
            .channels
            .iter()
            .flatten()
            .fold(0.0f64, |a, x| a.max(x.abs()));
        let gain = PEAK / loudest;
        let sign = match self.settings.second {
            Cable::AsRecorded => 1.0,
            Cable::Reversed => -1.0,
        };
        let [first, second, kick, snare] = self.channels;
        let scaled =
            |channel: Vec<f64>, gain: f64| channel.iter().map(|x| (x * gain) as f32).collect();
        Groove {
            first: scaled(first, gain),
            second: scaled(second, sign * gain),
            kick: scaled(kick, gain),
            snare: scaled(snare, gain),
            truth: self.settings.truth(),
        }
    }
}

/// The generator's own promises: finite, at the peak, the same for the same seed, another for another; a reversed cable
/// and a subset of the drums change nothing else.
#[test]
fn grooves_are_repeatable() {
    let Some(strokes) = strokes() else { return };
    let peak = |channel: &[f32]| channel.iter().fold(0.0f32, |a, x| a.max(x.abs()));
    for (style, pair) in cells() {
        let settings = GrooveSettings {
            style,
            pair,
            ..GrooveSettings::default()
        };
        let groove = strokes.groove(&settings);
        let channels = [&groove.first, &groove.second, &groove.kick, &groove.snare];
        let loudest = channels.map(|c| peak(c)).into_iter().fold(0.0, f32::max);
        assert!((loudest - PEAK as f32).abs() < 1e-6, "peak {loudest}");
        assert!(channels.iter().all(|c| c.iter().all(|x| x.is_finite())));
        assert_eq!(strokes.groove(&settings).first, groove.first);
        let other = GrooveSettings {
            seed: 1_001,
            ..settings
        };
        assert_ne!(strokes.groove(&other).first, groove.first);
        let reversed = GrooveSettings {
            second: Cable::Reversed,
            ..settings
        };
        let reversed = strokes.groove(&reversed);
        assert_eq!(reversed.first, groove.first);
        let mut pairs = reversed.second.iter().zip(&groove.second);
        assert!(pairs.all(|(a, b)| *a == -b));
    }
}

/// A kick alone is heard in its own microphone, and its truth is the kick's.
#[test]
fn a_subset_leaves_the_others_out() {
    let Some(strokes) = strokes() else { return };
    let kick = strokes.groove(&GrooveSettings {
        drums: &[Drum::Kick],
        ..GrooveSettings::default()
    });
    let energy = |channel: &[f32]| channel.iter().map(|x| x * x).sum::<f32>();
    assert_eq!(kick.truth.gap, -32.6);
    assert!(energy(&kick.snare) < energy(&kick.kick));
    let [first, second, spot] = [&kick.first, &kick.second, &kick.kick];
    let answer = measure([first, second, spot], Inputs::PairAndSpot, RATE);
    let answer = answer.expect("a verdict");
    println!("{answer:?}");
    assert_near(
        "kick alone",
        answer.gap_samples,
        kick.truth.gap,
        kick.truth.tolerance,
    );
}

/// Every style through every pair.
pub fn cells() -> impl Iterator<Item = (Style, Pair)> {
    let pairs = |style| Pair::ALL.map(|pair| (style, pair));
    Style::ALL.into_iter().flat_map(pairs)
}
