//! Ports that the host switches on and off, also while it plays.

use super::guarded::guarded;
use super::ports;
use crate::guard::switches::Bus;
use clap_sys::ext::audio_ports_activation::clap_plugin_audio_ports_activation;
use clap_sys::plugin::clap_plugin;

/// The extension for the host.
pub(super) static PORT_SWITCHES: clap_plugin_audio_ports_activation =
    clap_plugin_audio_ports_activation {
        can_activate_while_processing: Some(can_activate_while_processing),
        set_active: Some(set_active),
    };

unsafe extern "C" fn can_activate_while_processing(_plugin: *const clap_plugin) -> bool {
    true
}

/// Of ports that there are, with samples of 32 bits or of a size that is not said.
unsafe extern "C" fn set_active(
    plugin: *const clap_plugin,
    is_input: bool,
    index: u32,
    on: bool,
    sample_size: u32,
) -> bool {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    let there = index < ports::count(&guarded.framework, is_input);
    match Bus::of(is_input, index).filter(|_| there && [0, 32].contains(&sample_size)) {
        Some(bus) => {
            guarded.switches.set(bus, on);
            true
        }
        None => false,
    }
}
