//! The CLAP that the host sees: the framework's, with activation, processing and destruction taken over.

use super::buffers::{Buses, HostBus, Spare, silence};
use crate::instance::LatencyQuery;
use crate::instance::Plumbline;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::entry::clap_plugin_entry;
use clap_sys::ext::audio_ports::{
    CLAP_EXT_AUDIO_PORTS, clap_audio_port_info, clap_plugin_audio_ports,
};
use clap_sys::ext::gui::CLAP_EXT_GUI;
use clap_sys::factory::plugin_factory::{CLAP_PLUGIN_FACTORY_ID, clap_plugin_factory};
use clap_sys::host::clap_host;
use clap_sys::plugin::{clap_plugin, clap_plugin_descriptor};
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process, clap_process_status};
use clap_sys::version::CLAP_VERSION;
use nice_plug::wrapper::clap::{PluginDescriptor, Wrapper};
use nice_plug::wrapper::setup_logger;
use std::cell::UnsafeCell;
use std::ffi::{CStr, c_char, c_void};
use std::mem::zeroed;
use std::ptr::{null, null_mut};
use std::sync::{Arc, OnceLock};

/// One instance. The host's pointer to `clap` is a pointer to the whole, so `clap` must come first.
#[repr(C)]
struct Guarded {
    clap: clap_plugin,
    /// The framework's functions. They only follow `plugin_data`, which `clap` shares.
    framework: clap_plugin,
    /// Outlives the plugin.
    host: *const clap_host,
    /// Touched while activating and while processing: CLAP never does both at once.
    spare: UnsafeCell<Spare>,
    latency_query: LatencyQuery,
}

type Framework = Wrapper<Plumbline>;

unsafe extern "C" fn create_plugin(
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
    // SAFETY: the host outlives its plugins.
    let wrapper = Arc::into_raw(unsafe { Framework::new(host) });
    // SAFETY: just made; the framework's `destroy` takes the reference back.
    let framework = unsafe { *(*wrapper).clap_plugin.as_ptr() };
    let guarded = Guarded {
        clap: clap_plugin {
            destroy: Some(destroy),
            get_extension: Some(get_extension),
            activate: Some(activate),
            process: Some(process),
            ..framework
        },
        framework,
        host,
        spare: UnsafeCell::new(Spare::new(Buses::default(), 0)),
        latency_query: LatencyQuery::take(),
    };
    Box::into_raw(Box::new(guarded)).cast()
}

/// The instance behind a host's pointer.
///
/// # Safety
///
/// `plugin` comes from [`create_plugin`] and has not been destroyed.
unsafe fn guarded<'a>(plugin: *const clap_plugin) -> &'a Guarded {
    // SAFETY: `clap` is the first field of a `repr(C)` struct.
    unsafe { &*plugin.cast() }
}

unsafe extern "C" fn destroy(plugin: *const clap_plugin) {
    // SAFETY: made by `create_plugin`, destroyed once.
    let guarded = unsafe { Box::from_raw(plugin.cast::<Guarded>().cast_mut()) };
    if let Some(destroy) = guarded.framework.destroy {
        // SAFETY: the framework's own function on its own data.
        unsafe { destroy(&guarded.framework) };
    }
}

/// The framework's window asks the host to close and resize it, and aborts a host that cannot be asked: such a host is told
/// that there is no window.
unsafe extern "C" fn get_extension(plugin: *const clap_plugin, id: *const c_char) -> *const c_void {
    if id.is_null() {
        return null();
    }
    // SAFETY: the host's pointers; an id is a C string.
    unsafe {
        let guarded = guarded(plugin);
        if CStr::from_ptr(id) == CLAP_EXT_GUI && !keeps_windows(guarded.host) {
            return null();
        }
        match guarded.framework.get_extension {
            Some(get_extension) => get_extension(plugin, id),
            None => null(),
        }
    }
}

/// # Safety
///
/// `host` is a host.
unsafe fn keeps_windows(host: *const clap_host) -> bool {
    // SAFETY: as promised by the caller.
    let get_extension = unsafe { (*host).get_extension };
    // SAFETY: the host's own function.
    get_extension.is_some_and(|get| !unsafe { get(host, CLAP_EXT_GUI.as_ptr()) }.is_null())
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
    wrapper.set_latency_samples(guarded.latency_query.latency(sample_rate));
    let spare = Spare::new(buses(guarded), max_frames as usize);
    // SAFETY: nothing processes while activating.
    unsafe { *guarded.spare.get() = spare };
    match guarded.framework.activate {
        // SAFETY: the framework's own function on its own data.
        Some(activate) => unsafe { activate(plugin, sample_rate, min_frames, max_frames) },
        None => false,
    }
}

/// Channels of the layout that the host has chosen.
fn buses(guarded: &Guarded) -> Buses {
    Buses {
        main: input_channels(&guarded.framework, 0),
        spot: input_channels(&guarded.framework, 1),
    }
}

fn input_channels(framework: &clap_plugin, port: u32) -> usize {
    let Some(get_extension) = framework.get_extension else {
        return 0;
    };
    // SAFETY: the framework's own functions on its own data, on the main thread.
    unsafe {
        let ports = get_extension(framework, CLAP_EXT_AUDIO_PORTS.as_ptr());
        let Some(ports) = ports.cast::<clap_plugin_audio_ports>().as_ref() else {
            return 0;
        };
        let count = ports.count.map_or(0, |count| count(framework, true));
        let mut info: clap_audio_port_info = zeroed();
        match ports.get {
            Some(get) if port < count && get(framework, port, true, &mut info) => {
                info.channel_count as usize
            }
            _ => 0,
        }
    }
}

unsafe extern "C" fn process(
    plugin: *const clap_plugin,
    process: *const clap_process,
) -> clap_process_status {
    // SAFETY: the host's pointers; nothing activates while processing.
    let (guarded, block, spare) = unsafe {
        let guarded = guarded(plugin);
        (guarded, process.as_ref(), &mut *guarded.spare.get())
    };
    let (Some(block), Some(process)) = (block, guarded.framework.process) else {
        return CLAP_PROCESS_ERROR;
    };
    // SAFETY: the block's counts say what it points to; the framework gets it whole.
    unsafe { whole(block, spare, |block| process(plugin, block)) }
}

/// Runs `process` on the block with every buffer in place.
///
/// # Safety
///
/// The block's counts say what it points to.
unsafe fn whole(
    block: &clap_process,
    spare: &mut Spare,
    process: impl FnOnce(&clap_process) -> clap_process_status,
) -> clap_process_status {
    let frames = block.frames_count as usize;
    // SAFETY: as promised by the caller.
    let [main, spot, out] = unsafe {
        [
            bus(block.audio_inputs, block.audio_inputs_count, 0),
            bus(block.audio_inputs, block.audio_inputs_count, 1),
            bus(block.audio_outputs, block.audio_outputs_count, 0),
        ]
    };
    if frames > spare.longest() {
        // SAFETY: as promised by the caller.
        unsafe { silence(out, frames) };
        return CLAP_PROCESS_ERROR;
    }
    // SAFETY: as promised by the caller; what comes out is not constant.
    unsafe { vary(block.audio_outputs, block.audio_outputs_count) };
    let buses = spare.buses();
    // SAFETY: as promised by the caller; `frames` is within the longest block.
    let [main, spot, out] = unsafe {
        [
            spare.main_in(main),
            spare.spot_in(spot, frames),
            spare.main_out(out),
        ]
    };
    let inputs = [buffer(main, buses.main), buffer(spot, buses.spot)];
    let mut output = buffer(out, buses.main);
    process(&clap_process {
        audio_inputs: inputs.as_ptr(),
        audio_inputs_count: if buses.spot > 0 { 2 } else { 1 },
        audio_outputs: &mut output,
        audio_outputs_count: 1,
        ..*block
    })
}

/// One of the host's buses.
///
/// # Safety
///
/// `buffers` is null or points to `count` buffers.
unsafe fn bus(buffers: *const clap_audio_buffer, count: u32, index: u32) -> HostBus {
    if buffers.is_null() || index >= count {
        return HostBus::NONE;
    }
    // SAFETY: within `count`.
    let buffer = unsafe { &*buffers.add(index as usize) };
    HostBus {
        channels: buffer.data32,
        count: buffer.channel_count as usize,
    }
}

/// Takes back what the host may have left there about constant channels.
///
/// # Safety
///
/// `buffers` is null or points to `count` buffers.
unsafe fn vary(buffers: *mut clap_audio_buffer, count: u32) {
    if !buffers.is_null() && count > 0 {
        // SAFETY: within `count`.
        unsafe { (*buffers).constant_mask = 0 };
    }
}

fn buffer(channels: *mut *mut f32, count: usize) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels,
        data64: null_mut(),
        channel_count: count as u32,
        latency: 0,
        constant_mask: 0,
    }
}

fn descriptor() -> &'static PluginDescriptor {
    static DESCRIPTOR: OnceLock<PluginDescriptor> = OnceLock::new();
    DESCRIPTOR.get_or_init(PluginDescriptor::for_plugin::<Plumbline>)
}

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
    setup_logger::<Plumbline>();
    true
}

unsafe extern "C" fn deinit() {}

unsafe extern "C" fn get_factory(id: *const c_char) -> *const c_void {
    // SAFETY: a host hands over a C string.
    if id.is_null() || unsafe { CStr::from_ptr(id) } != CLAP_PLUGIN_FACTORY_ID {
        return null();
    }
    (&raw const FACTORY).cast()
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
