//! The functions of a CLAP instance: making, activation, extensions, processing, destruction.

use super::block::{self, Blocks};
use super::events::News;
use super::guarded::{Guarded, Gui, guarded};
use super::{gui, params, port_layouts, port_switches, ports, preset_load, session, state_context};
use crate::guard::buffers::Buses;
use crate::guard::exclusive::Exclusive;
use crate::guard::in_real_time;
use crate::guard::parameters::Parameters;
use crate::guard::switches::Switches;
use crate::instance::{InstanceQuery, Plumbline};
use clap_sys::ext::audio_ports_activation::{
    CLAP_EXT_AUDIO_PORTS_ACTIVATION, CLAP_EXT_AUDIO_PORTS_ACTIVATION_COMPAT,
};
use clap_sys::ext::audio_ports_config::CLAP_EXT_AUDIO_PORTS_CONFIG;
use clap_sys::ext::configurable_audio_ports::{
    CLAP_EXT_CONFIGURABLE_AUDIO_PORTS, CLAP_EXT_CONFIGURABLE_AUDIO_PORTS_COMPAT,
};
use clap_sys::ext::gui::CLAP_EXT_GUI;
use clap_sys::ext::params::CLAP_EXT_PARAMS;
use clap_sys::ext::preset_load::{CLAP_EXT_PRESET_LOAD, CLAP_EXT_PRESET_LOAD_COMPAT};
use clap_sys::ext::state_context::CLAP_EXT_STATE_CONTEXT;
use clap_sys::factory::plugin_factory::clap_plugin_factory;
use clap_sys::host::clap_host;
use clap_sys::plugin::clap_plugin;
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process, clap_process_status};
use nice_plug::wrapper::clap::{PluginDescriptor, Wrapper};
use std::cell::Cell;
use std::ffi::{CStr, c_char, c_void};
use std::ptr::null;
use std::sync::{Arc, OnceLock};

type Framework = Wrapper<Plumbline>;

/// Who the plugin is.
pub(super) fn descriptor() -> &'static PluginDescriptor {
    static DESCRIPTOR: OnceLock<PluginDescriptor> = OnceLock::new();
    DESCRIPTOR.get_or_init(PluginDescriptor::for_plugin::<Plumbline>)
}

/// Makes a guarded instance.
pub(super) unsafe extern "C" fn create_plugin(
    _factory: *const clap_plugin_factory,
    host: *const clap_host,
    plugin_id: *const c_char,
) -> *const clap_plugin {
    if host.is_null() || plugin_id.is_null() {
        return null();
    }
    // SAFETY: a host hands over a C string.
    if unsafe { CStr::from_ptr(plugin_id) } != descriptor().clap_id() {
        return null();
    }
    crate::guard::begin();
    // SAFETY: the host outlives its plugins.
    let wrapper = Arc::into_raw(unsafe { Framework::new(host) });
    // SAFETY: just made; the framework's `destroy` takes the reference back.
    let framework = unsafe { *(*wrapper).clap_plugin.as_ptr() };
    let query = InstanceQuery::take();
    let unsaved = Arc::default();
    query.tell_news_to(session::listener(host, &unsaved));
    let guarded = Guarded {
        clap: clap_plugin {
            destroy: Some(destroy),
            get_extension: Some(get_extension),
            activate: Some(activate),
            deactivate: Some(deactivate),
            process: Some(process),
            on_main_thread: Some(session::on_main_thread),
            ..framework
        },
        framework,
        host,
        blocks: Exclusive::new(Blocks::new(Buses::default(), 0, 0.0)),
        active: Cell::new(false),
        switches: Switches::default(),
        parameters: Parameters::new(query.params()),
        gui: Gui::default(),
        unsaved,
        query,
    };
    Box::into_raw(Box::new(guarded)).cast()
}

unsafe extern "C" fn destroy(plugin: *const clap_plugin) {
    // SAFETY: made by `create_plugin`, destroyed once.
    let guarded = unsafe { Box::from_raw(plugin.cast::<Guarded>().cast_mut()) };
    gui::close(&guarded);
    if let Some(destroy) = guarded.framework.destroy {
        // SAFETY: the framework's own function on its own data.
        unsafe { destroy(&guarded.framework) };
    }
}

unsafe extern "C" fn get_extension(plugin: *const clap_plugin, id: *const c_char) -> *const c_void {
    if id.is_null() {
        return null();
    }
    // SAFETY: the host's pointers; an id is a C string.
    unsafe {
        let (guarded, id) = (guarded(plugin), CStr::from_ptr(id));
        if id == CLAP_EXT_GUI {
            return gui::extension(guarded);
        }
        if id == CLAP_EXT_PARAMS {
            return (&raw const params::PARAMS).cast();
        }
        if id == CLAP_EXT_STATE_CONTEXT {
            return (&raw const state_context::STATE_CONTEXT).cast();
        }
        if [CLAP_EXT_PRESET_LOAD, CLAP_EXT_PRESET_LOAD_COMPAT].contains(&id) {
            return (&raw const preset_load::PRESET_LOAD).cast();
        }
        if let Some(ports) = ports_extension(id) {
            return ports;
        }
        match guarded.framework.get_extension {
            Some(get_extension) => get_extension(plugin, id.as_ptr()),
            None => null(),
        }
    }
}

/// The extensions about the ports, but for what ports there are.
fn ports_extension(id: &CStr) -> Option<*const c_void> {
    if id == CLAP_EXT_AUDIO_PORTS_CONFIG {
        Some((&raw const port_layouts::PORT_LAYOUTS).cast())
    } else if [
        CLAP_EXT_CONFIGURABLE_AUDIO_PORTS,
        CLAP_EXT_CONFIGURABLE_AUDIO_PORTS_COMPAT,
    ]
    .contains(&id)
    {
        Some((&raw const port_layouts::CONFIGURABLE_PORTS).cast())
    } else if [
        CLAP_EXT_AUDIO_PORTS_ACTIVATION,
        CLAP_EXT_AUDIO_PORTS_ACTIVATION_COMPAT,
    ]
    .contains(&id)
    {
        Some((&raw const port_switches::PORT_SWITCHES).cast())
    } else {
        None
    }
}

/// Tells the framework the latency before it activates: it then tells the host inside the activation, where CLAP
/// wants it, and does not ask for a restart afterwards.
unsafe extern "C" fn activate(
    plugin: *const clap_plugin,
    sample_rate: f64,
    min_frames: u32,
    max_frames: u32,
) -> bool {
    // SAFETY: the host's pointer; the framework's wrapper lives as long as the plugin.
    let (guarded, wrapper) = unsafe {
        let guarded = guarded(plugin);
        (guarded, &*guarded.framework.plugin_data.cast::<Framework>())
    };
    wrapper.set_latency_samples(guarded.query.latency(sample_rate));
    let blocks = Blocks::new(
        ports::buses(&guarded.framework),
        max_frames as usize,
        sample_rate,
    );
    let mut blocks = Some(blocks);
    let put = |place: &mut Blocks| blocks.take().map(|blocks| *place = blocks);
    if guarded.blocks.wait(put).is_none() {
        return false;
    }
    let activated = guarded.framework.activate.is_some_and(|activate| {
        // SAFETY: the framework's own function on its own data.
        unsafe { activate(plugin, sample_rate, min_frames, max_frames) }
    });
    guarded.active.set(activated);
    activated
}

unsafe extern "C" fn deactivate(plugin: *const clap_plugin) {
    // SAFETY: the host's pointer.
    let guarded = unsafe { guarded(plugin) };
    guarded.active.set(false);
    if let Some(deactivate) = guarded.framework.deactivate {
        // SAFETY: the framework's own function on its own data.
        unsafe { deactivate(&guarded.framework) };
    }
}

unsafe extern "C" fn process(
    plugin: *const clap_plugin,
    process: *const clap_process,
) -> clap_process_status {
    // SAFETY: the host's pointers.
    let (guarded, block) = unsafe { (guarded(plugin), process.as_ref()) };
    let (Some(block), Some(process)) = (block, guarded.framework.process) else {
        return CLAP_PROCESS_ERROR;
    };
    let guard = (&guarded.parameters, &guarded.switches);
    // SAFETY: the block's counts say what it points to; the framework gets it whole.
    let run =
        |blocks: &mut Blocks| unsafe { blocks.process(block, guard, |part| process(plugin, part)) };
    match in_real_time(|| guarded.blocks.with(run)) {
        Some((status, News::None)) => status,
        Some((status, News::Some)) => {
            guarded.query.request_repaint();
            status
        }
        // SAFETY: as above. Being activated: the host should not have called.
        None => unsafe { block::refuse(block) },
    }
}
