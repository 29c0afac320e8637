//! Every control the host sees, and what the core makes of it.

use super::align_choices::{Anchor, Drum, Match, Mode, Monitor, Polarity};
use super::print_params::PrintParams;
use super::sweep_params::SweepParams;
use super::units::{level_db, level_or_off, linear, part, seconds};
use crate::exchange::triple_buffer;
use crate::session::{MeasurementStore, NewerState, WindowState};
use nice_plug::prelude::*;
use plumbline_dsp::plan::{LEAST_CONFIDENCE, PlanSettings};
use plumbline_dsp::units::amplitude;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, RwLock};

/// A heated studio, °C (common practice, no source).
const ROOM_TEMPERATURE_C: f32 = 20.0;

/// The lowest level of the spot in the print, dB: below it lies off.
pub const LOWEST_SPOT_DB: f32 = -48.0;

/// All parameters. The ids are in saved sessions: they are never renamed.
#[derive(Params)]
pub struct PlumblineParams {
    /// What was measured, kept with the session.
    #[persist = "measurement"]
    pub measurement: MeasurementStore,
    /// How the window was left.
    #[persist = "desk"]
    pub window: Arc<RwLock<WindowState>>,
    /// What a newer version had saved beside what this one knows.
    #[persist = "newer"]
    pub newer: Arc<RwLock<NewerState>>,

    #[id = "mode"]
    pub mode: EnumParam<Mode>,
    #[id = "bypass"]
    pub bypass: BoolParam,
    /// dB
    #[id = "output"]
    pub output: FloatParam,
    #[id = "monitor"]
    pub monitor: EnumParam<Monitor>,
    /// For the ear: the input as it is, as loud.
    #[id = "compare"]
    pub compare: BoolParam,
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
    #[id = "drum"]
    pub drum: EnumParam<Drum>,
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
    /// dB, off below [`LOWEST_SPOT_DB`]
    #[id = "spot_level"]
    pub spot_level: FloatParam,
    /// degrees Celsius, for distances
    #[id = "temperature"]
    pub temperature: FloatParam,

    #[nested(group = "Print")]
    pub print: PrintParams,
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
            window: Arc::default(),
            newer: Arc::default(),
            mode: EnumParam::new("Mode", Mode::Align).non_automatable(),
            bypass: BoolParam::new("Bypass", false).make_bypass(),
            output: linear("Output", 0.0, -24.0, 12.0, " dB", 1),
            monitor: EnumParam::new("Monitor", Monitor::Stereo),
            compare: BoolParam::new("Compare", false),
            measure: BoolParam::new("Measure", false),
            correct: BoolParam::new("Correct", true),
            amount: linear("Amount", 100.0, 0.0, 100.0, " %", 0),
            anchor: EnumParam::new("Anchor", Anchor::Later),
            target: EnumParam::new("Match", Match::Attack),
            drum: EnumParam::new("Drum", Drum::Auto),
            polarity: EnumParam::new("Polarity", Polarity::AsMeasured),
            nudge_first: linear("Nudge first", 0.0, -5.0, 5.0, " ms", 3),
            nudge_second: linear("Nudge second", 0.0, -5.0, 5.0, " ms", 3),
            reach: linear("Reach", 0.0, 0.0, 30.0, " ms", 2).non_automatable(),
            spot_trim: linear("Spot trim", 0.0, -30.0, 30.0, " ms", 3),
            spot_level: level_or_off("Spot in print", LOWEST_SPOT_DB, 12.0),
            temperature: linear("Air temperature", ROOM_TEMPERATURE_C, -10.0, 50.0, " °C", 1)
                .with_callback(Arc::new(move |value| temperature_c.store(value, Relaxed))),
            print: PrintParams::default(),
            sweep: SweepParams::default(),
        }
    }

    /// Of no instance: everything stands at its default.
    pub fn untouched() -> Self {
        let ((_, reports), (loads, _)) = (triple_buffer(), triple_buffer());
        let ((picks, _), (_, pairs)) = (triple_buffer(), triple_buffer());
        let store = MeasurementStore::new(reports, pairs, loads, picks, Arc::default());
        Self::new(store)
    }

    /// What the plan needs to know, as the knobs stand now. `reach_s` is the reach that is active, in seconds,
    /// which lags behind the knob until the host has restarted the plugin.
    pub fn plan_settings(&self, reach_s: f64) -> PlanSettings {
        PlanSettings {
            correct: self.correct.value(),
            amount: part(&self.amount),
            anchor: self.anchor.value().into(),
            target: self.target.value().into(),
            polarity: self.polarity.value().into(),
            nudge_first_s: seconds(&self.nudge_first),
            nudge_second_s: seconds(&self.nudge_second),
            reach_s,
            spot_trim_s: seconds(&self.spot_trim),
            least_confidence: LEAST_CONFIDENCE,
        }
    }

    /// Amplitude of the spot in the print, 0 when it is off.
    pub fn spot_gain(&self) -> f64 {
        level_db(&self.spot_level, LOWEST_SPOT_DB).map_or(0.0, amplitude)
    }

    /// The reach the knob asks for, in seconds.
    pub fn reach_s(&self) -> f64 {
        seconds(&self.reach)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashMap;

    #[test]
    fn no_two_ids_are_the_same_to_a_host() {
        let params = PlumblineParams::untouched();
        let map = params.param_map();
        let ids = map.iter().map(|(id, ..)| id.as_str());
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
        let params = PlumblineParams::untouched();
        for (id, pointer, _) in params.param_map() {
            // SAFETY: the parameters live as long as `params`.
            let flags = unsafe { pointer.flags() };
            let decides = ["mode", "reach", "print"].contains(&id.as_str());
            assert_eq!(flags.contains(ParamFlags::NON_AUTOMATABLE), decides, "{id}");
        }
    }
}
