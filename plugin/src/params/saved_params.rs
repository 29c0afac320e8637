//! A saved state before it is loaded: complete, and within the ranges of this version.

use super::{PlumblineParams, may_hold};
use crate::session::NewerState;
use nice_plug::params::Params;
use nice_plug::params::internals::ParamPtr;
use nice_plug::plugin::{ParamValue, PluginState};
use std::cell::Cell;
use std::mem::take;

/// What belongs to the take and to the desk, and not to a preset.
const OF_THE_SESSION: [&str; 2] = ["measurement", "desk"];

/// Everything that is saved beside the parameters.
const FIELDS: [&str; 3] = ["measurement", "desk", NEWER];

/// Where that is kept which only a newer version knows.
const NEWER: &str = "newer";

/// A state with this field is a preset: it sets what it holds, and everything else stays.
const PRESET: &str = "preset";

/// What is for the ear: it is not kept.
const FOR_THE_EAR: [&str; 2] = ["monitor", "compare"];

/// What a state is loaded for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// A session is opened: everything is as it was saved.
    Session,
    /// A preset is called up: the take keeps its measurement, the window its looks.
    Preset,
}

thread_local! {
    static PURPOSE: Cell<Purpose> = const { Cell::new(Purpose::Session) };
}

/// Runs `load`, which loads a state on this thread, for a purpose.
pub fn load_for<R>(purpose: Purpose, load: impl FnOnce() -> R) -> R {
    let before = PURPOSE.replace(purpose);
    let result = load();
    PURPOSE.set(before);
    result
}

/// Puts a state right: what is missing gets its default, so that nothing is left of what was there before, and numbers
/// come back into range. `defaults` is an instance that nobody has touched.
pub fn complete(state: &mut PluginState, defaults: &PlumblineParams) {
    if state.fields.contains_key(PRESET) {
        return keep_held(state, defaults);
    }
    bring_back(state);
    let mut newer = NewerState::default();
    let saved = take(&mut state.fields);
    let known = |name: &String| FIELDS.contains(&name.as_str());
    (state.fields, newer.fields) = saved.into_iter().partition(|(name, _)| known(name));
    let mut saved = take(&mut state.params);
    for (id, pointer, _) in defaults.param_map() {
        let saved = saved
            .remove(&id)
            .filter(|_| !FOR_THE_EAR.contains(&id.as_str()));
        // SAFETY: `defaults` is alive.
        let value = unsafe { sane(pointer, saved) };
        state.params.insert(id, value);
    }
    newer.params = saved;
    if let Ok(newer) = serde_json::to_string(&newer) {
        state.fields.insert(NEWER.to_owned(), newer);
    }
    match PURPOSE.get() {
        Purpose::Preset => state
            .fields
            .retain(|name, _| !OF_THE_SESSION.contains(&name.as_str())),
        Purpose::Session => {
            let nothing = || "{}".to_owned();
            state
                .fields
                .entry("measurement".to_owned())
                .or_insert_with(nothing);
        }
    }
}

/// Leaves of a preset what one may hold and this version knows.
fn keep_held(state: &mut PluginState, defaults: &PlumblineParams) {
    state.fields.clear();
    let mut saved = take(&mut state.params);
    for (id, pointer, _) in defaults.param_map() {
        let value = saved.remove(&id).filter(|_| may_hold(&id));
        if let Some(value) = value {
            // SAFETY: `defaults` is alive.
            let value = unsafe { sane(pointer, Some(value)) };
            state.params.insert(id, value);
        }
    }
}

/// What an older version has kept for a newer one: this may be the newer one.
fn bring_back(state: &mut PluginState) {
    let kept = state.fields.remove(NEWER);
    let kept = kept.and_then(|kept| serde_json::from_str::<NewerState>(&kept).ok());
    let NewerState { params, fields } = kept.unwrap_or_default();
    for (id, value) in params {
        state.params.entry(id).or_insert(value);
    }
    for (name, content) in fields {
        state.fields.entry(name).or_insert(content);
    }
}

/// The saved value as this version can have it, else the default.
///
/// # Safety
///
/// The pointer's parameter is alive, and stands at its default.
unsafe fn sane(pointer: ParamPtr, saved: Option<ParamValue>) -> ParamValue {
    // SAFETY: as promised by the caller.
    unsafe {
        match (pointer, saved) {
            (ParamPtr::FloatParam(_), Some(ParamValue::F32(plain))) => {
                ParamValue::F32(within(pointer, plain))
            }
            (ParamPtr::FloatParam(_), Some(ParamValue::I32(plain))) => {
                ParamValue::F32(within(pointer, plain as f32))
            }
            (ParamPtr::IntParam(_), Some(ParamValue::I32(plain))) => {
                ParamValue::I32(within(pointer, plain as f32) as i32)
            }
            (ParamPtr::BoolParam(_), Some(ParamValue::Bool(on))) => ParamValue::Bool(on),
            (ParamPtr::EnumParam(_), Some(ParamValue::I32(index))) => {
                ParamValue::I32(within(pointer, index as f32) as i32)
            }
            // A name that this version does not know leaves the framework where it is: at the default, see below.
            (ParamPtr::EnumParam(choice), Some(ParamValue::String(name)))
                if (*choice).set_from_id(&name) =>
            {
                ParamValue::String(name)
            }
            _ => default(pointer),
        }
    }
}

/// # Safety
///
/// The pointer's parameter is alive.
unsafe fn within(pointer: ParamPtr, plain: f32) -> f32 {
    // SAFETY: as promised by the caller.
    let (low, high, default) = unsafe {
        (
            pointer.preview_plain(0.0),
            pointer.preview_plain(1.0),
            pointer.default_plain_value(),
        )
    };
    match plain.is_nan() {
        true => default,
        // As it was saved: only what is out of range is changed.
        false => plain.max(low.min(high)).min(low.max(high)),
    }
}

/// # Safety
///
/// The pointer's parameter is alive, and stands at its default.
unsafe fn default(pointer: ParamPtr) -> ParamValue {
    // SAFETY: as promised by the caller.
    unsafe {
        let plain = pointer.unmodulated_plain_value();
        match pointer {
            ParamPtr::FloatParam(_) => ParamValue::F32(plain),
            ParamPtr::IntParam(_) | ParamPtr::EnumParam(_) => ParamValue::I32(plain as i32),
            ParamPtr::BoolParam(_) => ParamValue::Bool(plain > 0.5),
        }
    }
}
