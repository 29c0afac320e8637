//! What the framework says of its ports, in the layout that the host has chosen.

use crate::guard::buffers::Buses;
use clap_sys::ext::audio_ports::{
    CLAP_EXT_AUDIO_PORTS, clap_audio_port_info, clap_plugin_audio_ports,
};
use clap_sys::plugin::clap_plugin;
use std::mem::zeroed;

/// How many inputs or outputs there are.
pub(super) fn count(framework: &clap_plugin, is_input: bool) -> u32 {
    let count = extension(framework).and_then(|ports| ports.count);
    // SAFETY: the framework's own function on its own data.
    count.map_or(0, |count| unsafe { count(framework, is_input) })
}

/// Channels of the inputs.
pub(super) fn buses(framework: &clap_plugin) -> Buses {
    Buses {
        main: input_channels(framework, 0),
        spot: input_channels(framework, 1),
    }
}

fn extension(framework: &clap_plugin) -> Option<&'static clap_plugin_audio_ports> {
    let get_extension = framework.get_extension?;
    // SAFETY: the framework's own function on its own data; extensions are static.
    unsafe {
        let ports = get_extension(framework, CLAP_EXT_AUDIO_PORTS.as_ptr());
        ports.cast::<clap_plugin_audio_ports>().as_ref()
    }
}

/// 0 for a port that there is not.
fn input_channels(framework: &clap_plugin, port: u32) -> usize {
    let get = extension(framework).and_then(|ports| ports.get);
    let Some(get) = get.filter(|_| port < count(framework, true)) else {
        return 0;
    };
    // SAFETY: the framework's own function on its own data, which it fills.
    unsafe {
        let mut info: clap_audio_port_info = zeroed();
        match get(framework, port, true, &mut info) {
            true => info.channel_count as usize,
            false => 0,
        }
    }
}
