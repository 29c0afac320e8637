//! The decks' controls, and what the core makes of them.

use super::sweep_choices::{Curve, Length, Motion};
use super::units::{linear, part, seconds, skewed};
use nice_plug::prelude::*;
use plumbline_dsp::decks::drag::DragControl;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::Pace;
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::decks::wobble::WobbleAmounts;

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
        let drag = match self.recue.value() {
            true => DragControl::Recue,
            false => DragControl::Brake(part(&self.drag)),
        };
        CourseSettings {
            motion: self.motion.value().into(),
            offset_s: seconds(&self.offset),
            range_s: seconds(&self.range),
            pace: self.pace(transport),
            curve: self.curve.value().into(),
            start: self.start.value(),
            drag,
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
            Transport::Stopped => COMMON_TIME,
        };
        Pace::Beats(self.length.value().beats(beats_per_bar))
    }
}

/// Quarter notes in a bar while the host says nothing about it.
const COMMON_TIME: f64 = 4.0;
