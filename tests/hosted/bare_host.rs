//! A minimal CLAP host: the plugin calls no extension that the host lacks.

use crate::library::strict_library;
use clap_sys::entry::clap_plugin_entry;
use clap_sys::ext::gui::{CLAP_EXT_GUI, clap_host_gui};
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use clap_sys::version::CLAP_VERSION;
use libloading::{Library, Symbol};
use std::ffi::{CStr, c_char, c_void};
use std::ptr::{null, null_mut};

unsafe extern "C" fn nothing(_host: *const clap_host, _id: *const c_char) -> *const c_void {
    null()
}

unsafe extern "C" fn windows(_host: *const clap_host, id: *const c_char) -> *const c_void {
    // Never called in this test.
    static GUI: clap_host_gui = clap_host_gui {
        resize_hints_changed: None,
        request_resize: None,
        request_show: None,
        request_hide: None,
        closed: None,
    };
    // SAFETY: an id is a C string.
    match unsafe { CStr::from_ptr(id) } == CLAP_EXT_GUI {
        true => (&raw const GUI).cast(),
        false => null(),
    }
}

unsafe extern "C" fn ignore(_host: *const clap_host) {}

type GetExtension = unsafe extern "C" fn(*const clap_host, *const c_char) -> *const c_void;

fn host(get_extension: GetExtension) -> clap_host {
    clap_host {
        clap_version: CLAP_VERSION,
        host_data: null_mut(),
        name: c"bare".as_ptr(),
        vendor: c"".as_ptr(),
        url: c"".as_ptr(),
        version: c"1".as_ptr(),
        get_extension: Some(get_extension),
        request_restart: Some(ignore),
        request_process: Some(ignore),
        request_callback: Some(ignore),
    }
}

/// True when the plugin offers this host a window.
fn offers_a_window(get_extension: GetExtension) -> bool {
    let host = host(get_extension);
    // SAFETY: our own library, with CLAP's signatures; the host outlives the plugin.
    unsafe {
        let library = Library::new(strict_library()).expect("the library loads");
        let entry: Symbol<'_, *const clap_plugin_entry> =
            library.get(b"clap_entry").expect("it is a CLAP");
        let entry = &**entry;
        assert!(entry.init.unwrap()(c"".as_ptr()));
        let factory: *const clap_plugin_factory =
            entry.get_factory.unwrap()(CLAP_PLUGIN_FACTORY_ID.as_ptr()).cast();
        let descriptor = (*factory).get_plugin_descriptor.unwrap()(factory, 0);
        let plugin: *const clap_plugin =
            (*factory).create_plugin.unwrap()(factory, &host, (*descriptor).id);
        assert!((*plugin).init.unwrap()(plugin));
        let gui = (*plugin).get_extension.unwrap()(plugin, CLAP_EXT_GUI.as_ptr());
        (*plugin).destroy.unwrap()(plugin);
        !gui.is_null()
    }
}

#[test]
fn a_host_without_windows_is_told_that_there_is_none() {
    assert!(!offers_a_window(nothing));
    assert!(offers_a_window(windows));
}
