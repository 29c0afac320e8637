//! The library's entry for CLAP hosts: makes guarded instances.

use super::plugin::{create_plugin, descriptor};
use super::preset_discovery;
use clap_sys::entry::clap_plugin_entry;
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::factory::preset_discovery::{
    CLAP_PRESET_DISCOVERY_FACTORY_ID, CLAP_PRESET_DISCOVERY_FACTORY_ID_COMPAT,
};
use clap_sys::plugin::clap_plugin_descriptor;
use clap_sys::version::CLAP_VERSION;
use std::ffi::{CStr, c_char, c_void};
use std::ptr::null;

unsafe extern "C" fn plugin_count(_factory: *const clap_plugin_factory) -> u32 {
    1
}

unsafe extern "C" fn plugin_descriptor(
    _factory: *const clap_plugin_factory,
    index: u32,
) -> *const clap_plugin_descriptor {
    match index {
        0 => descriptor().clap_plugin_descriptor(),
        _ => null(),
    }
}

static FACTORY: clap_plugin_factory = clap_plugin_factory {
    get_plugin_count: Some(plugin_count),
    get_plugin_descriptor: Some(plugin_descriptor),
    create_plugin: Some(create_plugin),
};

unsafe extern "C" fn init(_path: *const c_char) -> bool {
    true
}

unsafe extern "C" fn deinit() {}

unsafe extern "C" fn get_factory(id: *const c_char) -> *const c_void {
    if id.is_null() {
        return null();
    }
    // SAFETY: a host hands over a C string.
    let id = unsafe { CStr::from_ptr(id) };
    if id == CLAP_PLUGIN_FACTORY_ID {
        (&raw const FACTORY).cast()
    } else if [
        CLAP_PRESET_DISCOVERY_FACTORY_ID,
        CLAP_PRESET_DISCOVERY_FACTORY_ID_COMPAT,
    ]
    .contains(&id)
    {
        (&raw const preset_discovery::FACTORY).cast()
    } else {
        null()
    }
}

/// The library's entry for CLAP hosts.
#[unsafe(no_mangle)]
#[allow(non_upper_case_globals)]
pub static clap_entry: clap_plugin_entry = clap_plugin_entry {
    clap_version: CLAP_VERSION,
    init: Some(init),
    deinit: Some(deinit),
    get_factory: Some(get_factory),
};
