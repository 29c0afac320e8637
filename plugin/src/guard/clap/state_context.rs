//! Tells presets from sessions: a preset leaves the take's measurement and the window alone.

use super::guarded::{Guarded, guarded};
use crate::params::{Purpose, load_for};
use clap_sys::ext::state::{CLAP_EXT_STATE, clap_plugin_state};
use clap_sys::ext::state_context::{
    CLAP_STATE_CONTEXT_FOR_PRESET, clap_plugin_state_context, clap_plugin_state_context_type,
};
use clap_sys::plugin::clap_plugin;
use clap_sys::stream::{clap_istream, clap_ostream};

/// The extension for the host.
pub(super) static STATE_CONTEXT: clap_plugin_state_context = clap_plugin_state_context {
    save: Some(save),
    load: Some(load),
};

fn framework(guarded: &Guarded) -> Option<&'static clap_plugin_state> {
    let get_extension = guarded.framework.get_extension?;
    // SAFETY: the framework's own function on its own data; extensions are static.
    unsafe {
        let state = get_extension(&guarded.framework, CLAP_EXT_STATE.as_ptr());
        state.cast::<clap_plugin_state>().as_ref()
    }
}

/// One kind of state serves all purposes: what a preset must not touch is left out when it is loaded.
unsafe extern "C" fn save(
    plugin: *const clap_plugin,
    stream: *const clap_ostream,
    _purpose: clap_plugin_state_context_type,
) -> bool {
    // SAFETY: the host's pointers, for the framework to judge.
    unsafe {
        let save = framework(guarded(plugin)).and_then(|state| state.save);
        save.is_some_and(|save| save(plugin, stream))
    }
}

unsafe extern "C" fn load(
    plugin: *const clap_plugin,
    stream: *const clap_istream,
    purpose: clap_plugin_state_context_type,
) -> bool {
    let purpose = match purpose {
        CLAP_STATE_CONTEXT_FOR_PRESET => Purpose::Preset,
        _ => Purpose::Session,
    };
    // SAFETY: the host's pointers, for the framework to judge.
    unsafe {
        let load = framework(guarded(plugin)).and_then(|state| state.load);
        load.is_some_and(|load| load_for(purpose, || load(plugin, stream)))
    }
}
