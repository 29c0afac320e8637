//! The decks' controls, and what the core makes of them.

use nice_plug::prelude::*;
use plumbline_dsp::decks::drag::Hands;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{self, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_clock::Transport;
use plumbline_dsp::decks::wobble::WobbleAmounts;

use crate::params::linear;

/// What moves the moving deck.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motion {
    #[id = "hand"]
    Hand,
    #[id = "cycle"]
    Cycle,
    #[id = "pass"]
    Pass,
    #[id = "drag"]
    Drag,
}

/// How the offset travels.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Curve {
    #[id = "sine"]
    Sine,
    #[id = "triangle"]
    Triangle,
    #[id = "reel"]
    Reel,
}

/// One cycle or one pass, in the song's own measure.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Length {
    #[id = "quarter_beat"]
    #[name = "1/4 beat"]
    QuarterBeat,
    #[id = "half_beat"]
    #[name = "1/2 beat"]
    HalfBeat,
    #[id = "beat"]
    #[name = "1 beat"]
    Beat,
    #[id = "two_beats"]
    #[name = "2 beats"]
    TwoBeats,
    #[id = "bar"]
    #[name = "1 bar"]
    Bar,
    #[id = "two_bars"]
    #[name = "2 bars"]
    TwoBars,
    #[id = "four_bars"]
    #[name = "4 bars"]
    FourBars,
    #[id = "eight_bars"]
    #[name = "8 bars"]
    EightBars,
    #[id = "sixteen_bars"]
    #[name = "16 bars"]
    SixteenBars,
}

impl Length {
    /// Quarter notes, where a bar has this many.
    fn beats(self, beats_per_bar: f64) -> f64 {
        match self {
            Self::QuarterBeat => 0.25,
            Self::HalfBeat => 0.5,
            Self::Beat => 1.0,
            Self::TwoBeats => 2.0,
            Self::Bar => beats_per_bar,
            Self::TwoBars => 2.0 * beats_per_bar,
            Self::FourBars => 4.0 * beats_per_bar,
            Self::EightBars => 8.0 * beats_per_bar,
            Self::SixteenBars => 16.0 * beats_per_bar,
        }
    }
}

/// The controls of the Sweep mode. The ids are in saved sessions: they are never renamed.
#[derive(Params)]
pub struct SweepParams {
    #[id = "engage"]
    pub engage: BoolParam,
    #[id = "motion"]
    pub motion: EnumParam<Motion>,
    /// milliseconds, moving deck minus fixed deck
    #[id = "offset"]
    pub offset: FloatParam,
    /// milliseconds from the centre
    #[id = "range"]
    pub range: FloatParam,
    #[id = "sync"]
    pub sync: BoolParam,
    #[id = "length"]
    pub length: EnumParam<Length>,
    /// Hz
    #[id = "rate"]
    pub rate: FloatParam,
    #[id = "curve"]
    pub curve: EnumParam<Curve>,
    /// A rising edge cues a pass.
    #[id = "start"]
    pub start: BoolParam,
    /// percent, positive on the moving deck
    #[id = "drag"]
    pub drag: FloatParam,
    #[id = "recue"]
    pub recue: BoolParam,
    /// percent of the first channel's offset
    #[id = "width"]
    pub width: FloatParam,
    /// percent of the moving deck
    #[id = "blend"]
    pub blend: FloatParam,
    #[id = "flip"]
    pub flip: BoolParam,
    /// percent, weighted
    #[id = "wow"]
    pub wow: FloatParam,
    /// percent, weighted
    #[id = "flutter"]
    pub flutter: FloatParam,
}

impl Default for SweepParams {
    fn default() -> Self {
        Self {
            engage: BoolParam::new("Engage", true),
            motion: EnumParam::new("Motion", Motion::Hand),
            offset: linear("Offset", 0.0, -12.0, 12.0, " ms", 3),
            range: skewed("Range", 3.0, 0.05, 12.0, " ms", 2),
            sync: BoolParam::new("Sync", true),
            length: EnumParam::new("Length", Length::FourBars),
            rate: skewed("Rate", 0.1, 0.01, 5.0, " Hz", 2),
            curve: EnumParam::new("Curve", Curve::Sine),
            start: BoolParam::new("Start pass", false),
            drag: linear("Drag", 0.0, -100.0, 100.0, " %", 0),
            recue: BoolParam::new("Re-cue", false),
            width: linear("Width", 100.0, -100.0, 100.0, " %", 0),
            blend: linear("Blend", 50.0, 0.0, 100.0, " %", 0),
            flip: BoolParam::new("Flip moving deck", false),
            wow: linear("Wow", 0.0, 0.0, 0.5, " %", 3),
            flutter: linear("Flutter", 0.0, 0.0, 0.5, " %", 3),
        }
    }
}

impl SweepParams {
    /// Where the moving deck goes, as the knobs stand now, in the bars of the song around it.
    pub fn course(&self, transport: Transport) -> CourseSettings {
        let hands = match self.recue.value() {
            true => Hands::Recue,
            false => Hands::Drag(part(&self.drag)),
        };
        CourseSettings {
            motion: self.motion.value().into(),
            offset_s: f64::from(self.offset.value()) / 1000.0,
            range_s: f64::from(self.range.value()) / 1000.0,
            pace: self.pace(transport),
            curve: self.curve.value().into(),
            start: self.start.value(),
            hands,
            wobble: WobbleAmounts {
                wow: part(&self.wow),
                flutter: part(&self.flutter),
            },
        }
    }

    /// How the decks are heard, as the knobs stand now.
    pub fn mix(&self) -> MixSettings {
        MixSettings {
            engage: self.engage.value(),
            blend: part(&self.blend),
            flip: self.flip.value(),
            width: part(&self.width),
        }
    }

    fn pace(&self, transport: Transport) -> Pace {
        if !self.sync.value() {
            return Pace::Hertz(self.rate.value().into());
        }
        let beats_per_bar = match transport {
            Transport::Running(place) => place.beats_per_bar,
            Transport::Standing => COMMON_TIME,
        };
        Pace::Beats(self.length.value().beats(beats_per_bar))
    }
}

/// Quarter notes in a bar while the host says nothing about it.
const COMMON_TIME: f64 = 4.0;

/// A parameter in percent, as a part of one.
fn part(parameter: &FloatParam) -> f64 {
    f64::from(parameter.value()) / 100.0
}

/// A parameter whose knob gives more room to its small values.
fn skewed(
    name: &str,
    default: f32,
    min: f32,
    max: f32,
    unit: &'static str,
    digits: usize,
) -> FloatParam {
    let factor = FloatRange::skew_factor(-1.5);
    let range = FloatRange::Skewed { min, max, factor };
    FloatParam::new(name, default, range)
        .with_unit(unit)
        .with_value_to_string(formatters::v2s_f32_rounded(digits))
}

impl From<Motion> for motion::Motion {
    fn from(motion: Motion) -> Self {
        match motion {
            Motion::Hand => Self::Hand,
            Motion::Cycle => Self::Cycle,
            Motion::Pass => Self::Pass,
            Motion::Drag => Self::Drag,
        }
    }
}

impl From<Curve> for motion::Curve {
    fn from(curve: Curve) -> Self {
        match curve {
            Curve::Sine => Self::Sine,
            Curve::Triangle => Self::Triangle,
            Curve::Reel => Self::Reel,
        }
    }
}
