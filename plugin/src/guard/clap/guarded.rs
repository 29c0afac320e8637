//! One guarded CLAP instance, and the way to it from the host's pointer.

use super::block::Blocks;
use crate::guard::exclusive::Exclusive;
use crate::guard::parameters::Parameters;
use crate::guard::switches::Switches;
use crate::instance::InstanceQuery;
use clap_sys::ext::gui::clap_plugin_gui;
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use std::cell::{Cell, OnceCell};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// One instance. The host's pointer to `clap` is a pointer to the whole, so `clap` must come first.
#[repr(C)]
pub(super) struct Guarded {
    pub clap: clap_plugin,
    /// The framework's functions. They only follow `plugin_data`, which `clap` shares.
    pub framework: clap_plugin,
    /// Outlives the plugin.
    pub host: *const clap_host,
    pub blocks: Exclusive<Blocks>,
    /// Between a successful activation and the deactivation. The host's main thread owns it.
    pub active: Cell<bool>,
    pub switches: Switches,
    pub query: InstanceQuery,
    pub parameters: Parameters,
    pub gui: Gui,
    /// There is something new to save that the host has not heard of.
    pub unsaved: Arc<AtomicBool>,
}

/// One instance's window. The host's main thread owns it.
#[derive(Default)]
pub(super) struct Gui {
    /// What the host gets.
    pub own: OnceCell<clap_plugin_gui>,
    pub framework: Cell<Option<&'static clap_plugin_gui>>,
    pub open: Cell<bool>,
    /// Pixels in a point, as the host has said.
    pub scale: Cell<Option<f64>>,
}

/// The instance behind a host's pointer.
///
/// # Safety
///
/// `plugin` is what the factory has made, and has not been destroyed.
pub(super) unsafe fn guarded<'a>(plugin: *const clap_plugin) -> &'a Guarded {
    // SAFETY: `clap` is the first field of a `repr(C)` struct.
    unsafe { &*plugin.cast() }
}
