//! Calls up a preset for a CLAP host's browser: a starting point by its name, or a file of the user's own.

use super::guarded::{Guarded, guarded};
use super::session::mark_dirty;
use crate::presets::{Preset, STARTING_POINTS, read, resolve};
use clap_sys::ext::params::{CLAP_EXT_PARAMS, CLAP_PARAM_RESCAN_VALUES, clap_host_params};
use clap_sys::ext::preset_load::{
    CLAP_EXT_PRESET_LOAD, clap_host_preset_load, clap_plugin_preset_load,
};
use clap_sys::factory::preset_discovery::{
    CLAP_PRESET_DISCOVERY_LOCATION_FILE, CLAP_PRESET_DISCOVERY_LOCATION_PLUGIN,
    clap_preset_discovery_location_kind,
};
use clap_sys::plugin::clap_plugin;
use std::ffi::{CStr, CString, c_char};

/// The extension for the host.
pub(super) static PRESET_LOAD: clap_plugin_preset_load = clap_plugin_preset_load {
    from_location: Some(from_location),
};

unsafe extern "C" fn from_location(
    plugin: *const clap_plugin,
    kind: clap_preset_discovery_location_kind,
    location: *const c_char,
    load_key: *const c_char,
) -> bool {
    // SAFETY: the host's pointers.
    unsafe {
        let guarded = guarded(plugin);
        let preset = found(kind, text(location), text(load_key));
        let done = preset.and_then(|preset| call_up(guarded, &preset));
        let done = done.map_err(|why| match (kind, text(location)) {
            (CLAP_PRESET_DISCOVERY_LOCATION_FILE, Some(path)) => format!("{path}: {why}"),
            _ => why,
        });
        let host = extension::<clap_host_preset_load>(guarded, CLAP_EXT_PRESET_LOAD);
        match (&done, host) {
            (Ok(()), Some(host)) => {
                if let Some(loaded) = host.loaded {
                    loaded(guarded.host, kind, location, load_key);
                }
            }
            (Err(why), Some(host)) => {
                let why = CString::new(why.as_str()).unwrap_or_default();
                if let Some(on_error) = host.on_error {
                    on_error(guarded.host, kind, location, load_key, 0, why.as_ptr());
                }
            }
            (_, None) => {}
        }
        done.is_ok()
    }
}

/// # Safety
///
/// Null, or a C string.
unsafe fn text<'a>(text: *const c_char) -> Option<&'a str> {
    if text.is_null() {
        return None;
    }
    // SAFETY: as promised by the caller.
    unsafe { CStr::from_ptr(text) }.to_str().ok()
}

fn found(
    kind: clap_preset_discovery_location_kind,
    location: Option<&str>,
    load_key: Option<&str>,
) -> Result<Preset, String> {
    match (kind, location, load_key) {
        (CLAP_PRESET_DISCOVERY_LOCATION_PLUGIN, _, Some(name)) => {
            let start = STARTING_POINTS.iter().find(|start| start.name == name);
            let start = start.ok_or_else(|| format!("there is no starting point called {name}"))?;
            Ok(start.preset())
        }
        (CLAP_PRESET_DISCOVERY_LOCATION_FILE, Some(path), _) => {
            let text = std::fs::read_to_string(path).map_err(|why| why.to_string())?;
            read(&text).map_err(|why| why.to_string())
        }
        _ => Err("a preset has a name or a file".to_owned()),
    }
}

/// Sets what it holds and has the host look at it, on the main thread.
fn call_up(guarded: &Guarded, preset: &Preset) -> Result<(), String> {
    let params = guarded.query.params().ok_or("there are no parameters")?;
    let settings = resolve(preset, &*params).map_err(|why| why.to_string())?;
    let parameters = &guarded.parameters;
    for setting in settings {
        let number = parameters.number_of(setting.parameter);
        if let Some(index) = number.and_then(|number| parameters.index(number)) {
            parameters.set(index, setting.normalized);
        }
    }
    guarded.query.request_repaint();
    // SAFETY: the host is alive, and this is its main thread.
    unsafe {
        let host = extension::<clap_host_params>(guarded, CLAP_EXT_PARAMS);
        if let Some(rescan) = host.and_then(|host| host.rescan) {
            rescan(guarded.host, CLAP_PARAM_RESCAN_VALUES);
        }
        mark_dirty(guarded);
    }
    Ok(())
}

/// # Safety
///
/// `T` is what the host's extension of this name is; the host is alive.
unsafe fn extension<'a, T>(guarded: &Guarded, name: &CStr) -> Option<&'a T> {
    // SAFETY: as promised by the caller; extensions are static.
    unsafe {
        let get = (*guarded.host).get_extension?;
        get(guarded.host, name.as_ptr()).cast::<T>().as_ref()
    }
}
