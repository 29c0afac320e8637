//! Every control the host sees, and what the core makes of it.

use crate::desk::Desk;
use crate::state::MeasurementStore;
use crate::sweep_params::SweepParams;
use nice_plug::prelude::*;
use plumbline_dsp::plan::{self, PlanSettings};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, RwLock};

/// A heated studio, °C (common practice, no source).
const ROOM_TEMPERATURE_C: f32 = 20.0;

/// The two uses of the one core. Decides the latency.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    #[id = "align"]
    Align,
    #[id = "sweep"]
    Sweep,
}

/// What is sent to the ear.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Monitor {
    #[id = "stereo"]
    Stereo,
    #[id = "mono"]
    Mono,
    #[id = "difference"]
    Difference,
    #[id = "spot"]
    Spot,
}

/// The signal that stays where it is.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    #[id = "later"]
    Later,
    #[id = "first"]
    First,
    #[id = "second"]
    Second,
    #[id = "spot"]
    Spot,
}

/// What a match aims at.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    #[id = "attack"]
    Attack,
    #[id = "body"]
    Body,
}

/// What is done about the polarity of the second channel (of a mono main: of the channel).
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    #[id = "as_measured"]
    #[name = "As measured"]
    AsMeasured,
    #[id = "as_recorded"]
    #[name = "As recorded"]
    AsRecorded,
    #[id = "flipped"]
    Flipped,
}

/// All parameters. The ids are in saved sessions: they are never renamed.
#[derive(Params)]
pub struct PlumblineParams {
    /// What was measured, kept with the session.
    #[persist = "measurement"]
    pub measurement: MeasurementStore,
    /// How the window was left.
    #[persist = "desk"]
    pub desk: Arc<RwLock<Desk>>,

    #[id = "mode"]
    pub mode: EnumParam<Mode>,
    #[id = "bypass"]
    pub bypass: BoolParam,
    /// dB
    #[id = "output"]
    pub output: FloatParam,
    #[id = "monitor"]
    pub monitor: EnumParam<Monitor>,
    #[id = "measure"]
    pub measure: BoolParam,
    #[id = "correct"]
    pub correct: BoolParam,
    /// percent
    #[id = "amount"]
    pub amount: FloatParam,
    #[id = "anchor"]
    pub anchor: EnumParam<Anchor>,
    #[id = "match"]
    pub target: EnumParam<Match>,
    #[id = "polarity"]
    pub polarity: EnumParam<Polarity>,
    /// milliseconds, positive later
    #[id = "nudge_first"]
    pub nudge_first: FloatParam,
    /// milliseconds, positive later
    #[id = "nudge_second"]
    pub nudge_second: FloatParam,
    /// milliseconds
    #[id = "reach"]
    pub reach: FloatParam,
    /// milliseconds, added to both spot lags
    #[id = "spot_trim"]
    pub spot_trim: FloatParam,
    /// degrees Celsius, for distances
    #[id = "temperature"]
    pub temperature: FloatParam,

    #[nested(group = "Sweep")]
    pub sweep: SweepParams,
}

impl PlumblineParams {
    /// Everything at its default.
    pub fn new(measurement: MeasurementStore) -> Self {
        let temperature_c = measurement.temperature_c();
        temperature_c.store(ROOM_TEMPERATURE_C, Relaxed);
        Self {
            measurement,
            desk: Arc::default(),
            mode: EnumParam::new("Mode", Mode::Align).non_automatable(),
            bypass: BoolParam::new("Bypass", false).make_bypass(),
            output: linear("Output", 0.0, -24.0, 12.0, " dB", 1),
            monitor: EnumParam::new("Monitor", Monitor::Stereo),
            measure: BoolParam::new("Measure", false),
            correct: BoolParam::new("Correct", true),
            amount: linear("Amount", 100.0, 0.0, 100.0, " %", 0),
            anchor: EnumParam::new("Anchor", Anchor::Later),
            target: EnumParam::new("Match", Match::Attack),
            polarity: EnumParam::new("Polarity", Polarity::AsMeasured),
            nudge_first: linear("Nudge first", 0.0, -5.0, 5.0, " ms", 3),
            nudge_second: linear("Nudge second", 0.0, -5.0, 5.0, " ms", 3),
            reach: linear("Reach", 0.0, 0.0, 30.0, " ms", 2).non_automatable(),
            spot_trim: linear("Spot trim", 0.0, -30.0, 30.0, " ms", 3),
            temperature: linear("Temperature", ROOM_TEMPERATURE_C, -10.0, 50.0, " °C", 1)
                .with_callback(Arc::new(move |value| temperature_c.store(value, Relaxed))),
            sweep: SweepParams::default(),
        }
    }

    /// What the plan needs to know, as the knobs stand now. `reach_s` is the reach that is active, in seconds,
    /// which lags behind the knob until the host has restarted the plugin.
    pub fn plan_settings(&self, reach_s: f64) -> PlanSettings {
        PlanSettings {
            correct: self.correct.value(),
            amount: f64::from(self.amount.value()) / 100.0,
            anchor: self.anchor.value().into(),
            target: self.target.value().into(),
            polarity: self.polarity.value().into(),
            nudge_first_s: seconds(&self.nudge_first),
            nudge_second_s: seconds(&self.nudge_second),
            reach_s,
            spot_trim_s: seconds(&self.spot_trim),
        }
    }

    /// The reach the knob asks for, in seconds.
    pub fn reach_s(&self) -> f64 {
        seconds(&self.reach)
    }
}

/// A parameter in milliseconds, in seconds.
fn seconds(parameter: &FloatParam) -> f64 {
    f64::from(parameter.value()) / 1000.0
}

/// A parameter whose knob is linear in its unit and shows `digits` decimals.
pub fn linear(
    name: &str,
    default: f32,
    min: f32,
    max: f32,
    unit: &'static str,
    digits: usize,
) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min, max })
        .with_unit(unit)
        .with_value_to_string(formatters::v2s_f32_rounded(digits))
}

impl From<Anchor> for plan::Anchor {
    fn from(anchor: Anchor) -> Self {
        match anchor {
            Anchor::Later => Self::Later,
            Anchor::First => Self::First,
            Anchor::Second => Self::Second,
            Anchor::Spot => Self::Spot,
        }
    }
}

impl From<Match> for plan::Match {
    fn from(target: Match) -> Self {
        match target {
            Match::Attack => Self::Attack,
            Match::Body => Self::Body,
        }
    }
}

impl From<Polarity> for plan::PolarityChoice {
    fn from(polarity: Polarity) -> Self {
        match polarity {
            Polarity::AsMeasured => Self::AsMeasured,
            Polarity::AsRecorded => Self::AsRecorded,
            Polarity::Flipped => Self::Flipped,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::Plumbline;
    use nice_plug::prelude::*;
    use std::collections::HashMap;

    /// The tape's colour, which comes later. The id is not for anything else.
    const RESERVED: [&str; 1] = ["print"];

    #[test]
    fn no_two_ids_are_the_same_to_a_host_and_the_reserved_are_free() {
        let map = Plumbline::default().params().param_map();
        let ids = map.iter().map(|(id, ..)| id.as_str()).chain(RESERVED);
        let mut numbers = HashMap::new();
        for id in ids {
            // The framework numbers an id by this polynomial of its bytes, of which VST3 leaves 31 bits.
            let number = |hash: u32, byte: u8| hash.wrapping_mul(31).wrapping_add(byte.into());
            let number = id.bytes().fold(0, number) & 0x7fff_ffff;
            assert_eq!(numbers.insert(number, id), None, "{id}");
        }
    }

    #[test]
    fn what_decides_the_latency_cannot_be_automated() {
        for (id, pointer, _) in Plumbline::default().params().param_map() {
            // SAFETY: the parameters live as long as the map's owner, which the loop holds.
            let flags = unsafe { pointer.flags() };
            let decides = ["mode", "reach"].contains(&id.as_str());
            assert_eq!(flags.contains(ParamFlags::NON_AUTOMATABLE), decides, "{id}");
        }
    }
}
