//! Settings of a preset as parameters have them, and back.

use super::preset::{Preset, PresetError};
use crate::params::may_hold;
use nice_plug::params::Params;
use nice_plug::params::internals::ParamPtr;

/// One parameter and the value that it gets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Valid as long as the parameters that it was resolved with.
    pub parameter: ParamPtr,
    /// 0 to 1.
    pub normalized: f32,
}

/// What a preset sets; nothing of it when anything in it is wrong.
pub fn resolve(preset: &Preset, params: &dyn Params) -> Result<Vec<Setting>, PresetError> {
    let map = params.param_map();
    let settings = preset.settings.iter().map(|(id, text)| {
        let found = map.iter().find(|(known, ..)| known == id);
        let (_, parameter, _) = found.ok_or_else(|| PresetError::Unknown(id.clone()))?;
        if !may_hold(id) {
            return Err(PresetError::NotHeld(id.clone()));
        }
        // SAFETY: `params` is borrowed for as long as its parameter is asked.
        let normalized = unsafe { normalized(*parameter, text) };
        let normalized = normalized.ok_or_else(|| PresetError::Value(id.clone(), text.clone()))?;
        Ok(Setting {
            parameter: *parameter,
            normalized,
        })
    });
    settings.collect()
}

/// Everything that a preset may hold, as it stands now.
#[cfg(feature = "editor")]
pub fn held(params: &dyn Params) -> Vec<(String, String)> {
    let map = params.param_map().into_iter();
    let held = map.filter(|(id, ..)| may_hold(id));
    // SAFETY: `params` is borrowed for as long as its parameter is asked.
    held.map(|(id, parameter, _)| (id, unsafe { written(parameter) }))
        .collect()
}

/// A number within the parameter's range, or whatever the parameter can read.
///
/// # Safety
///
/// The pointer's parameter is alive.
unsafe fn normalized(parameter: ParamPtr, text: &str) -> Option<f32> {
    // SAFETY: as promised by the caller.
    unsafe {
        let normalized = match (parameter, text.trim().parse::<f32>()) {
            (ParamPtr::FloatParam(_), Ok(plain)) => {
                let (low, high) = (parameter.preview_plain(0.0), parameter.preview_plain(1.0));
                let within = (low..=high).contains(&plain);
                within.then(|| parameter.preview_normalized(plain))
            }
            (ParamPtr::BoolParam(_), _) => match text.trim().to_lowercase().as_str() {
                "on" => Some(1.0),
                "off" => Some(0.0),
                _ => None,
            },
            _ => parameter.string_to_normalized_value(text),
        };
        normalized.filter(|normalized| normalized.is_finite())
    }
}

/// A number in full, or the words of a choice or a switch.
///
/// # Safety
///
/// As for [`normalized`].
#[cfg(feature = "editor")]
unsafe fn written(parameter: ParamPtr) -> String {
    // SAFETY: as promised by the caller.
    unsafe {
        let words =
            parameter.normalized_value_to_string(parameter.unmodulated_normalized_value(), false);
        match parameter {
            ParamPtr::FloatParam(_) if words != "off" => {
                parameter.unmodulated_plain_value().to_string()
            }
            _ => words,
        }
    }
}
