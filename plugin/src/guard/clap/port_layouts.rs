//! The layout of the ports, chosen by name or port by port: only while the plugin is not active.
//!
//! The framework lets a host choose at any time, and takes the choice over with the next state that is loaded: it would then
//! work on buffers of the layout before.

use super::guarded::{Guarded, guarded};
use super::ports;
use crate::guard::buffers::Buses;
use crate::instance::layout_of;
use clap_sys::ext::audio_ports::{CLAP_PORT_MONO, CLAP_PORT_STEREO};
use clap_sys::ext::audio_ports_config::{
    CLAP_EXT_AUDIO_PORTS_CONFIG, clap_audio_ports_config, clap_plugin_audio_ports_config,
};
use clap_sys::ext::configurable_audio_ports::{
    clap_audio_port_configuration_request, clap_plugin_configurable_audio_ports,
};
use clap_sys::id::clap_id;
use clap_sys::plugin::clap_plugin;
use std::ffi::CStr;

/// The list of layouts, for the host.
pub(super) static PORT_LAYOUTS: clap_plugin_audio_ports_config = clap_plugin_audio_ports_config {
    count: Some(count),
    get: Some(get),
    select: Some(select),
};

/// Ports asked for one by one, for the host.
pub(super) static CONFIGURABLE_PORTS: clap_plugin_configurable_audio_ports =
    clap_plugin_configurable_audio_ports {
        can_apply_configuration: Some(can_apply),
        apply_configuration: Some(apply),
    };

fn framework(guarded: &Guarded) -> Option<&'static clap_plugin_audio_ports_config> {
    let get_extension = guarded.framework.get_extension?;
    // SAFETY: the framework's own function on its own data; extensions are static.
    unsafe {
        let layouts = get_extension(&guarded.framework, CLAP_EXT_AUDIO_PORTS_CONFIG.as_ptr());
        layouts.cast::<clap_plugin_audio_ports_config>().as_ref()
    }
}

unsafe extern "C" fn count(plugin: *const clap_plugin) -> u32 {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    let count = framework(guarded).and_then(|layouts| layouts.count);
    // SAFETY: the framework's own function on its own data.
    count.map_or(0, |count| unsafe { count(&guarded.framework) })
}

unsafe extern "C" fn get(
    plugin: *const clap_plugin,
    index: u32,
    config: *mut clap_audio_ports_config,
) -> bool {
    // SAFETY: the host's pointers, for the framework to judge.
    unsafe {
        let guarded = guarded(plugin);
        let get = framework(guarded).and_then(|layouts| layouts.get);
        index < count(plugin) && get.is_some_and(|get| get(&guarded.framework, index, config))
    }
}

/// Another layout has its ports switched on.
unsafe extern "C" fn select(plugin: *const clap_plugin, layout: clap_id) -> bool {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    // SAFETY: the host's pointer.
    if guarded.active.get() || layout >= unsafe { count(plugin) } {
        return false;
    }
    let select = framework(guarded).and_then(|layouts| layouts.select);
    // SAFETY: the framework's own function on its own data.
    let selected = select.is_some_and(|select| unsafe { select(&guarded.framework, layout) });
    if selected {
        guarded.switches.all_on();
    }
    selected
}

unsafe extern "C" fn can_apply(
    plugin: *const clap_plugin,
    requests: *const clap_audio_port_configuration_request,
    count: u32,
) -> bool {
    // SAFETY: the host's pointers.
    unsafe { wanted(guarded(plugin), requests, count) }.is_some()
}

unsafe extern "C" fn apply(
    plugin: *const clap_plugin,
    requests: *const clap_audio_port_configuration_request,
    count: u32,
) -> bool {
    // SAFETY: the host's pointers.
    unsafe {
        match wanted(guarded(plugin), requests, count) {
            Some(layout) => select(plugin, layout),
            None => false,
        }
    }
}

/// The layout that the requests ask for, if there is one and the plugin is not active. What no request names stays.
///
/// # Safety
///
/// `requests` is null or points to `count` of them.
unsafe fn wanted(
    guarded: &Guarded,
    requests: *const clap_audio_port_configuration_request,
    count: u32,
) -> Option<clap_id> {
    if guarded.active.get() || requests.is_null() || count == 0 {
        return None;
    }
    // SAFETY: as promised by the caller.
    let requests = unsafe { std::slice::from_raw_parts(requests, count as usize) };
    let Buses { mut main, mut spot } = ports::buses(&guarded.framework);
    let mut out = main;
    for request in requests {
        if request.port_index >= ports::count(&guarded.framework, request.is_input) {
            return None;
        }
        // SAFETY: a host hands over null or a C string.
        if !unsafe { is_plain(request) } {
            return None;
        }
        let channels = request.channel_count as usize;
        match (request.is_input, request.port_index) {
            (true, 0) => main = channels,
            (true, _) => spot = channels,
            (false, _) => out = channels,
        }
    }
    let layout = layout_of(main, spot).filter(|_| out == main)?;
    clap_id::try_from(layout).ok()
}

/// One or two channels, and nothing that says they are other ones than a channel or a pair.
///
/// # Safety
///
/// The request's kind of port is null or a C string.
unsafe fn is_plain(request: &clap_audio_port_configuration_request) -> bool {
    let kind = match request.channel_count {
        1 => CLAP_PORT_MONO,
        2 => CLAP_PORT_STEREO,
        _ => return false,
    };
    // SAFETY: as promised by the caller.
    request.port_type.is_null() || unsafe { CStr::from_ptr(request.port_type) } == kind
}
