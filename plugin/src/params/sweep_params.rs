//! The decks' controls, and what the core makes of them.

use super::sweep_choices::{Curve, Length, Motion};
use super::units::{bar, bar_or_off, linear, part, seconds, skewed};
use nice_plug::prelude::*;
use plumbline_dsp::decks::drag::DragControl;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::Pace;
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::{SongPosition, Transport};
use plumbline_dsp::decks::wobble::WobbleAmounts;

/// The last bar that a null point can be put on.
const LAST_BAR: f32 = 999.0;

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
    /// bars, the song's first one being 1; off below 1
    #[id = "null_at"]
    pub null_at: FloatParam,
    /// bars
    #[id = "ease"]
    pub ease: FloatParam,
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
            null_at: bar_or_off("Null point at bar", LAST_BAR),
            ease: linear("Ease in", 0.0, 0.0, 2.0, " bars", 2),
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
            null_at: bar(&self.null_at),
            ease_bars: self.ease.value().into(),
            drag,
            wobble: WobbleAmounts {
                wow: part(&self.wow),
                flutter: part(&self.flutter),
            },
        }
    }

    /// How the decks are heard, as the knobs stand now, in the bars of the song around it.
    pub fn mix(&self, transport: Transport) -> MixSettings {
        MixSettings {
            engage: self.engage.value(),
            engage_s: self.engage_s(transport),
            blend: part(&self.blend),
            flip: self.flip.value(),
            width: part(&self.width),
        }
    }

    fn pace(&self, transport: Transport) -> Pace {
        if !self.sync.value() {
            return Pace::Hertz(self.rate.value().into());
        }
        Pace::Beats(self.length.value().beats(place(transport).beats_per_bar))
    }

    /// A pass that eases in does so too when it is engaged on its way.
    fn engage_s(&self, transport: Transport) -> f64 {
        if self.motion.value() != Motion::Pass {
            return 0.0;
        }
        let place = place(transport);
        f64::from(self.ease.value()) * place.beats_per_bar * 60.0 / place.tempo_bpm
    }
}

/// Where the song is; common time while the host says nothing about it.
fn place(transport: Transport) -> SongPosition {
    match transport {
        Transport::Running(place) => place.sane(),
        Transport::Stopped => SongPosition::default(),
    }
}
