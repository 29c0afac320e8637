//! Tells a CLAP host that the session has something new to save: on its main thread, which it is asked for.

use super::guarded::{Guarded, guarded};
use clap_sys::ext::state::{CLAP_EXT_STATE, clap_host_state};
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::AcqRel};

/// A host that may be asked for its main thread from any thread.
struct AnyThread(*const clap_host);

// SAFETY: `request_callback` is for any thread.
unsafe impl Send for AnyThread {}
// SAFETY: as above.
unsafe impl Sync for AnyThread {}

impl AnyThread {
    /// # Safety
    ///
    /// The host is alive.
    unsafe fn request_callback(&self) {
        // SAFETY: as promised by the caller.
        unsafe {
            if let Some(request) = (*self.0).request_callback {
                request(self.0);
            }
        }
    }
}

/// What is told about an instance's news: it sets `unsaved`, and asks for the main thread where that was not set. The host
/// must outlive it, as it does its plugins.
pub(super) fn listener(
    host: *const clap_host,
    unsaved: &Arc<AtomicBool>,
) -> impl Fn() + Send + Sync + use<> {
    let (host, unsaved) = (AnyThread(host), Arc::clone(unsaved));
    move || {
        let host = &host;
        if !unsaved.swap(true, AcqRel) {
            // SAFETY: the instance is alive, and so is its host.
            unsafe { host.request_callback() };
        }
    }
}

/// The main thread that was asked for.
pub(super) unsafe extern "C" fn on_main_thread(plugin: *const clap_plugin) {
    // SAFETY: the host's pointer; the framework's own function on its own data.
    unsafe {
        let guarded = guarded(plugin);
        if guarded.unsaved.swap(false, AcqRel) {
            mark_dirty(guarded);
        }
        if let Some(on_main_thread) = guarded.framework.on_main_thread {
            on_main_thread(plugin);
        }
    }
}

/// # Safety
///
/// On the main thread; the host is alive.
pub(super) unsafe fn mark_dirty(guarded: &Guarded) {
    // SAFETY: as promised by the caller; extensions are static.
    unsafe {
        let host = guarded.host;
        let state = (*host)
            .get_extension
            .map(|get| get(host, CLAP_EXT_STATE.as_ptr()));
        let state = state.and_then(|state| state.cast::<clap_host_state>().as_ref());
        if let Some(mark_dirty) = state.and_then(|state| state.mark_dirty) {
            mark_dirty(host);
        }
    }
}
