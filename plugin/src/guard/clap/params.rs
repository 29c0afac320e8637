//! The parameter extension: what the framework says, with what it gets wrong put right.

use super::events::{Events, News};
use super::guarded::{Guarded, guarded};
use super::scale::{self, Scaled};
use clap_sys::events::{clap_input_events, clap_output_events};
use clap_sys::ext::params::{
    CLAP_EXT_PARAMS, CLAP_PARAM_IS_ENUM, CLAP_PARAM_IS_MODULATABLE, clap_param_info,
    clap_plugin_params,
};
use clap_sys::id::clap_id;
use clap_sys::plugin::clap_plugin;
use std::ffi::c_char;
use std::ptr::null;

/// What the host gets instead of the framework's own.
pub(super) static PARAMS: clap_plugin_params = clap_plugin_params {
    count: Some(count),
    get_info: Some(get_info),
    get_value: Some(get_value),
    value_to_text: Some(value_to_text),
    text_to_value: Some(text_to_value),
    flush: Some(flush),
};

/// The framework's own.
fn framework(guarded: &Guarded) -> Option<&'static clap_plugin_params> {
    let get_extension = guarded.framework.get_extension?;
    // SAFETY: the framework's own function on its own data; extensions are static.
    unsafe {
        let params = get_extension(&guarded.framework, CLAP_EXT_PARAMS.as_ptr());
        params.cast::<clap_plugin_params>().as_ref()
    }
}

unsafe extern "C" fn count(plugin: *const clap_plugin) -> u32 {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    guarded.parameters.count() as u32
}

/// The framework takes the number of parameters for one of them, calls everything modulatable, knows no choices and has
/// ranges of 0 to 1.
unsafe extern "C" fn get_info(
    plugin: *const clap_plugin,
    index: u32,
    info: *mut clap_param_info,
) -> bool {
    // SAFETY: the host's pointers.
    unsafe {
        let guarded = guarded(plugin);
        let get_info = framework(guarded).and_then(|params| params.get_info);
        let (Some(get_info), true) = (get_info, index < count(plugin)) else {
            return false;
        };
        if info.is_null() || !get_info(plugin, index, info) {
            return false;
        }
        let (info, parameters) = (&mut *info, &guarded.parameters);
        if let Some(index) = parameters.index(info.id) {
            if !parameters.is_line(index) {
                info.flags &= !CLAP_PARAM_IS_MODULATABLE;
            }
            let plain = |normalized| parameters.plain(index, normalized);
            info.min_value = plain(0.0).unwrap_or(info.min_value);
            info.max_value = plain(1.0).unwrap_or(info.max_value);
            let default = parameters.default_value(index).and_then(plain);
            info.default_value = default.unwrap_or(info.default_value);
            if parameters.is_choice(index) {
                info.flags |= CLAP_PARAM_IS_ENUM;
            }
        }
    }
    true
}

/// Without modulation, which belongs to the host.
unsafe extern "C" fn get_value(plugin: *const clap_plugin, id: clap_id, value: *mut f64) -> bool {
    // SAFETY: the host's pointers.
    let (guarded, value) = unsafe { (guarded(plugin), value.as_mut()) };
    let parameters = &guarded.parameters;
    let index = parameters.index(id);
    let plain = index.and_then(|index| parameters.plain(index, parameters.value(index)?));
    let (Some(value), Some(plain)) = (value, plain) else {
        return false;
    };
    *value = plain;
    true
}

unsafe extern "C" fn value_to_text(
    plugin: *const clap_plugin,
    id: clap_id,
    value: f64,
    text: *mut c_char,
    size: u32,
) -> bool {
    // SAFETY: the host's pointers, for the framework to judge.
    unsafe {
        let guarded = guarded(plugin);
        let to_text = framework(guarded).and_then(|params| params.value_to_text);
        let (Some(to_text), Some(value)) = (to_text, scale::inner(&guarded.parameters, id, value))
        else {
            return false;
        };
        size > 0 && to_text(plugin, id, value, text, size)
    }
}

unsafe extern "C" fn text_to_value(
    plugin: *const clap_plugin,
    id: clap_id,
    text: *const c_char,
    value: *mut f64,
) -> bool {
    // SAFETY: the host's pointers, for the framework to judge.
    unsafe {
        let guarded = guarded(plugin);
        let to_value = framework(guarded).and_then(|params| params.text_to_value);
        let understood = to_value.is_some_and(|to_value| to_value(plugin, id, text, value));
        let plain = understood.then(|| scale::outer(&guarded.parameters, id, *value));
        plain.flatten().map(|plain| *value = plain).is_some()
    }
}

/// What comes in is the guard's; what the window has changed goes out through the framework.
unsafe extern "C" fn flush(
    plugin: *const clap_plugin,
    events_in: *const clap_input_events,
    events_out: *const clap_output_events,
) {
    // SAFETY: the host's pointers.
    unsafe {
        let guarded = guarded(plugin);
        let news = Events::new(events_in, null(), usize::MAX, &guarded.parameters).finish();
        if news == News::Some {
            guarded.query.request_repaint();
        }
        if let Some(flush) = framework(guarded).and_then(|params| params.flush) {
            let scaled = Scaled::new(&guarded.parameters, events_out);
            scaled.lend(|events| flush(plugin, null(), events));
        }
    }
}
