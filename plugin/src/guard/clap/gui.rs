//! The window's extension: the framework's, with a note of whether a window is open and how large its pixels are.

use super::guarded::{Guarded, guarded};
use clap_sys::ext::gui::{CLAP_EXT_GUI, clap_host_gui, clap_plugin_gui};
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use std::ffi::{c_char, c_void};
use std::ptr::{from_ref, null};

/// The extension for the host. The framework's window asks the host to close and resize it, and aborts a host that cannot
/// be asked: such a host is told that there is no window.
///
/// # Safety
///
/// The instance's host is alive.
pub(super) unsafe fn extension(guarded: &Guarded) -> *const c_void {
    // SAFETY: as promised by the caller; extensions of the framework are static.
    let framework = unsafe {
        if !keeps_windows(guarded.host) {
            return null();
        }
        let Some(get_extension) = guarded.framework.get_extension else {
            return null();
        };
        let gui = get_extension(&guarded.framework, CLAP_EXT_GUI.as_ptr());
        gui.cast::<clap_plugin_gui>().as_ref()
    };
    let Some(framework) = framework else {
        return null();
    };
    #[cfg(all(feature = "editor", target_os = "linux"))]
    crate::guard::pinned::pin_graphics();
    guarded.gui.framework.set(Some(framework));
    let own = guarded.gui.own.get_or_init(|| clap_plugin_gui {
        create: Some(create),
        destroy: Some(destroy),
        set_scale: Some(set_scale),
        get_size: Some(get_size),
        adjust_size: Some(adjust_size),
        ..*framework
    });
    from_ref(own).cast()
}

/// # Safety
///
/// `host` is a host.
unsafe fn keeps_windows(host: *const clap_host) -> bool {
    // SAFETY: as promised by the caller.
    let get_extension = unsafe { (*host).get_extension };
    // SAFETY: the host's own function.
    let gui = get_extension.map(|get| unsafe { get(host, CLAP_EXT_GUI.as_ptr()) });
    gui.is_some_and(|gui| !gui.cast::<clap_host_gui>().is_null())
}

unsafe extern "C" fn create(plugin: *const clap_plugin, api: *const c_char, floats: bool) -> bool {
    // SAFETY: the host's pointer.
    let gui = &unsafe { guarded(plugin) }.gui;
    let create = gui.framework.get().and_then(|framework| framework.create);
    // SAFETY: the host's arguments, for the framework to judge.
    let created =
        !gui.open.get() && create.is_some_and(|create| unsafe { create(plugin, api, floats) });
    gui.open.set(gui.open.get() || created);
    created
}

unsafe extern "C" fn destroy(plugin: *const clap_plugin) {
    // SAFETY: the host's pointer.
    close(unsafe { guarded(plugin) });
}

/// The host's scale, for this window and those that are opened after it.
unsafe extern "C" fn set_scale(plugin: *const clap_plugin, scale: f64) -> bool {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    let framework = guarded.gui.framework.get();
    let set = framework.and_then(|framework| framework.set_scale);
    let sane = scale.is_finite() && scale > 0.0;
    // SAFETY: the framework's own function on its own data.
    let taken = sane && set.is_some_and(|set| unsafe { set(&guarded.framework, scale) });
    if taken {
        guarded.gui.scale.set(Some(scale));
    }
    taken
}

/// In the host's pixels. The framework says the size for a scale of 1, whatever the scale is.
unsafe extern "C" fn get_size(
    plugin: *const clap_plugin,
    width: *mut u32,
    height: *mut u32,
) -> bool {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    let framework = guarded.gui.framework.get();
    let size = framework.and_then(|framework| framework.get_size);
    // SAFETY: the framework's own function on its own data; it checks the pointers.
    let told = size.is_some_and(|size| unsafe { size(&guarded.framework, width, height) });
    if told && let Some(scale) = guarded.gui.scale.get() {
        for side in [width, height] {
            // SAFETY: the framework has written there.
            unsafe { *side = (f64::from(*side) * scale).round() as u32 };
        }
    }
    told
}

/// In the host's pixels. The window toolkit keeps to the limits for a scale of 1, whatever the host's scale is.
unsafe extern "C" fn adjust_size(
    plugin: *const clap_plugin,
    width: *mut u32,
    height: *mut u32,
) -> bool {
    if width.is_null() || height.is_null() {
        return false;
    }
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    let framework = guarded.gui.framework.get();
    let adjust = framework.and_then(|framework| framework.adjust_size);
    let scale = guarded.gui.scale.get().unwrap_or(1.0);
    // SAFETY: the host's pointers.
    let wanted = unsafe { [*width, *height] };
    let points = wanted.map(|side| (f64::from(side) / scale).round() as u32);
    let [mut wide, mut high] = points;
    // SAFETY: the framework's own function on its own data.
    let done =
        adjust.is_some_and(|adjust| unsafe { adjust(&guarded.framework, &mut wide, &mut high) });
    if done {
        let sides = [(width, wide), (height, high)].into_iter().zip(points);
        // A side that fits stays as it is, to the pixel.
        for ((side, fits), _) in sides.filter(|((_, fits), asked)| fits != asked) {
            // SAFETY: the host's pointers.
            unsafe { *side = (f64::from(fits) * scale).round() as u32 };
        }
    }
    done
}

/// Closes a window that is open: a host may destroy the plugin and leave that to it.
pub(super) fn close(guarded: &Guarded) {
    if !guarded.gui.open.replace(false) {
        return;
    }
    let framework = guarded.gui.framework.get();
    if let Some(destroy) = framework.and_then(|framework| framework.destroy) {
        // SAFETY: the framework's own function on its own data.
        unsafe { destroy(&guarded.framework) };
    }
}
