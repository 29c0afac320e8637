//! The starting points for a CLAP host's preset browser.

use super::plugin::descriptor;
use crate::presets::{STARTING_POINTS, StartingPoint};
use clap_sys::factory::preset_discovery::{
    CLAP_PRESET_DISCOVERY_IS_FACTORY_CONTENT, CLAP_PRESET_DISCOVERY_LOCATION_PLUGIN,
    clap_preset_discovery_factory, clap_preset_discovery_filetype, clap_preset_discovery_indexer,
    clap_preset_discovery_location, clap_preset_discovery_location_kind,
    clap_preset_discovery_metadata_receiver, clap_preset_discovery_provider,
    clap_preset_discovery_provider_descriptor,
};
use clap_sys::universal_plugin_id::clap_universal_plugin_id;
use clap_sys::version::CLAP_VERSION;
use std::ffi::{CStr, CString, c_char, c_void};
use std::ptr::null;

/// One provider, a host's for as long as it likes.
#[repr(C)]
struct Provider {
    clap: clap_preset_discovery_provider,
    indexer: *const clap_preset_discovery_indexer,
}

static DESCRIPTOR: clap_preset_discovery_provider_descriptor =
    clap_preset_discovery_provider_descriptor {
        clap_version: CLAP_VERSION,
        id: c"org.plumbline.starting-points".as_ptr(),
        name: c"Starting points".as_ptr(),
        vendor: c"Plumbline".as_ptr(),
    };

/// For the entry.
pub(super) static FACTORY: clap_preset_discovery_factory = clap_preset_discovery_factory {
    count: Some(count),
    get_descriptor: Some(get_descriptor),
    create: Some(create),
};

unsafe extern "C" fn count(_factory: *const clap_preset_discovery_factory) -> u32 {
    1
}

unsafe extern "C" fn get_descriptor(
    _factory: *const clap_preset_discovery_factory,
    index: u32,
) -> *const clap_preset_discovery_provider_descriptor {
    match index {
        0 => &raw const DESCRIPTOR,
        _ => null(),
    }
}

unsafe extern "C" fn create(
    _factory: *const clap_preset_discovery_factory,
    indexer: *const clap_preset_discovery_indexer,
    id: *const c_char,
) -> *const clap_preset_discovery_provider {
    // SAFETY: a host hands over a C string; ours is static.
    let ours = unsafe { CStr::from_ptr(DESCRIPTOR.id) };
    // SAFETY: as above.
    if indexer.is_null() || id.is_null() || unsafe { CStr::from_ptr(id) } != ours {
        return null();
    }
    let provider = Provider {
        clap: clap_preset_discovery_provider {
            desc: &raw const DESCRIPTOR,
            provider_data: std::ptr::null_mut(),
            init: Some(init),
            destroy: Some(destroy),
            get_metadata: Some(get_metadata),
            get_extension: Some(get_extension),
        },
        indexer,
    };
    Box::into_raw(Box::new(provider)).cast()
}

/// The presets are in the library itself; files of the user's own have an ending of their own.
unsafe extern "C" fn init(provider: *const clap_preset_discovery_provider) -> bool {
    let location = clap_preset_discovery_location {
        flags: CLAP_PRESET_DISCOVERY_IS_FACTORY_CONTENT,
        name: c"Starting points".as_ptr(),
        kind: CLAP_PRESET_DISCOVERY_LOCATION_PLUGIN,
        location: null(),
    };
    let filetype = clap_preset_discovery_filetype {
        name: c"Plumbline preset".as_ptr(),
        description: c"Settings saved from the window".as_ptr(),
        file_extension: c"plumbline".as_ptr(),
    };
    // SAFETY: made by `create`; the host's indexer outlives its providers.
    unsafe {
        let indexer = (*provider.cast::<Provider>()).indexer;
        let (Some(declare_location), Some(declare_filetype)) =
            ((*indexer).declare_location, (*indexer).declare_filetype)
        else {
            return false;
        };
        declare_filetype(indexer, &filetype) && declare_location(indexer, &location)
    }
}

unsafe extern "C" fn destroy(provider: *const clap_preset_discovery_provider) {
    // SAFETY: made by `create`, destroyed once.
    drop(unsafe { Box::from_raw(provider.cast::<Provider>().cast_mut()) });
}

unsafe extern "C" fn get_extension(
    _provider: *const clap_preset_discovery_provider,
    _id: *const c_char,
) -> *const c_void {
    null()
}

unsafe extern "C" fn get_metadata(
    _provider: *const clap_preset_discovery_provider,
    kind: clap_preset_discovery_location_kind,
    _location: *const c_char,
    receiver: *const clap_preset_discovery_metadata_receiver,
) -> bool {
    if kind != CLAP_PRESET_DISCOVERY_LOCATION_PLUGIN || receiver.is_null() {
        return false;
    }
    // SAFETY: the host's receiver.
    unsafe { STARTING_POINTS.iter().all(|start| tell(start, receiver)) }
}

/// Tells one starting point; false when the host has heard enough.
///
/// # Safety
///
/// The receiver is a host's.
unsafe fn tell(
    start: &StartingPoint,
    receiver: *const clap_preset_discovery_metadata_receiver,
) -> bool {
    let id = clap_universal_plugin_id {
        abi: c"clap".as_ptr(),
        id: descriptor().clap_id().as_ptr(),
    };
    let preset = start.preset();
    let holds = preset.settings.iter().map(|(id, _)| id.as_str());
    let holds = holds.collect::<Vec<_>>().join(" ");
    let mode = if start.is_sweep() { c"sweep" } else { c"align" };
    let texts =
        [start.name, start.about, &holds].map(|text| CString::new(text).unwrap_or_default());
    let [name, about, holds] = &texts;
    // SAFETY: as promised by the caller; all strings live until the calls return.
    unsafe {
        let to = &*receiver;
        let begun = to
            .begin_preset
            .is_some_and(|begin| begin(receiver, name.as_ptr(), name.as_ptr()));
        if !begun {
            return false;
        }
        if let Some(add_plugin_id) = to.add_plugin_id {
            add_plugin_id(receiver, &id);
        }
        if let Some(set_flags) = to.set_flags {
            set_flags(receiver, CLAP_PRESET_DISCOVERY_IS_FACTORY_CONTENT);
        }
        if let Some(add_creator) = to.add_creator {
            add_creator(receiver, c"Plumbline".as_ptr());
        }
        if let Some(set_description) = to.set_description {
            set_description(receiver, about.as_ptr());
        }
        if let Some(add_feature) = to.add_feature {
            add_feature(receiver, mode.as_ptr());
        }
        if let Some(add_extra_info) = to.add_extra_info {
            add_extra_info(receiver, c"holds".as_ptr(), holds.as_ptr());
        }
    }
    true
}
