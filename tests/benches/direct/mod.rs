//! A CLAP host that costs nothing itself and makes no system call.
//!
//! Promises blocks of one kind, prepared once and handed to the plugin's own function. Called by the benchmark of the
//! hosted cost and by the tests of the audio thread's system calls; calls the hosting crate for making the instance.

use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_VALUE, CLAP_EVENT_TRANSPORT,
    CLAP_TRANSPORT_HAS_BEATS_TIMELINE, CLAP_TRANSPORT_HAS_SECONDS_TIMELINE,
    CLAP_TRANSPORT_HAS_TEMPO, CLAP_TRANSPORT_IS_PLAYING, clap_event_header, clap_event_param_value,
    clap_event_transport, clap_input_events, clap_output_events,
};
use clap_sys::process::clap_process;
use plumbline_hosting::{Bundle, Instance, Layout, Session, noise, parameter_number};
use std::ptr::{from_ref, null, null_mut};

/// Samples of a block.
pub const BLOCK: usize = 64;
/// Hz.
pub const SAMPLE_RATE: f64 = 48_000.0;

/// An instance and the blocks that it is given.
pub struct Direct {
    instance: Instance,
    input: [Vec<f32>; 4],
    output: [Vec<f32>; 2],
    /// Of one block, by their samples.
    events: Vec<clap_event_param_value>,
    /// `None`: the host does not say.
    transport: Option<clap_event_transport>,
}

impl Direct {
    /// Started with these settings; noise comes in.
    pub fn new(bundle: &Bundle, settings: &[(&str, f64)]) -> Self {
        let session = Session {
            sample_rate: SAMPLE_RATE,
            max_block: BLOCK as u32,
            layout: Layout::StereoSpotStereo,
            offline: false,
        };
        let mut instance = bundle.open(&session).expect("the session opens");
        for (id, value) in settings {
            instance.set(id, *value).expect("a setting");
        }
        instance.restart().expect("it restarts");
        Self {
            instance,
            input: [1, 2, 3, 4].map(|seed| noise(BLOCK, seed)),
            output: [(); 2].map(|()| vec![0.0; BLOCK]),
            events: Vec::new(),
            transport: None,
        }
    }

    /// The song runs, and jumps back to its start with every block.
    #[allow(dead_code, reason = "for the tests")]
    pub fn roll(&mut self) {
        // SAFETY: plain data.
        let mut transport: clap_event_transport = unsafe { std::mem::zeroed() };
        transport.header.size = size_of::<clap_event_transport>() as u32;
        transport.header.type_ = CLAP_EVENT_TRANSPORT;
        transport.flags = CLAP_TRANSPORT_HAS_TEMPO
            | CLAP_TRANSPORT_HAS_BEATS_TIMELINE
            | CLAP_TRANSPORT_HAS_SECONDS_TIMELINE
            | CLAP_TRANSPORT_IS_PLAYING;
        transport.tempo = 120.0;
        self.transport = Some(transport);
    }

    /// Nothing comes in from now on.
    #[allow(dead_code, reason = "for the benchmark")]
    pub fn silence(&mut self) {
        self.input.iter_mut().for_each(|channel| channel.fill(0.0));
    }

    /// Every sample of a block brings another value of these parameters, all within 0 and 1 of their unit.
    pub fn automate(&mut self, ids: &[&str]) {
        self.events = (0..BLOCK)
            .flat_map(|at| ids.iter().map(move |id| (at, *id)))
            .map(|(at, id)| value_event(at, id))
            .collect();
    }

    /// So many blocks.
    pub fn play(&mut self, blocks: usize) {
        self.play_samples(blocks, BLOCK);
    }

    /// So many blocks of so many samples each.
    pub fn play_samples(&mut self, blocks: usize, samples: usize) {
        let mut input = self.input.each_mut().map(|channel| channel.as_mut_ptr());
        let mut output = self.output.each_mut().map(|channel| channel.as_mut_ptr());
        let (main, spot) = input.split_at_mut(2);
        let inputs = [buffer(main), buffer(spot)];
        let mut outputs = [buffer(&mut output)];
        let events = clap_input_events {
            ctx: (&raw mut self.events).cast(),
            size: Some(size),
            get: Some(get),
        };
        let ignored = clap_output_events {
            ctx: null_mut(),
            try_push: Some(ignore),
        };
        let block = clap_process {
            steady_time: -1,
            frames_count: samples as u32,
            transport: self.transport.as_ref().map_or(null(), from_ref),
            audio_inputs: inputs.as_ptr(),
            audio_outputs: outputs.as_mut_ptr(),
            audio_inputs_count: 2,
            audio_outputs_count: 1,
            in_events: &events,
            out_events: &ignored,
        };
        let plugin = self.instance.raw();
        let process = plugin.process.expect("it processes");
        for _ in 0..blocks {
            // SAFETY: the buffers are as long as the block says.
            unsafe { process(plugin, &block) };
        }
    }
}

fn value_event(at: usize, id: &str) -> clap_event_param_value {
    clap_event_param_value {
        header: clap_event_header {
            size: size_of::<clap_event_param_value>() as u32,
            time: at as u32,
            space_id: CLAP_CORE_EVENT_SPACE_ID,
            type_: CLAP_EVENT_PARAM_VALUE,
            flags: 0,
        },
        param_id: parameter_number(id),
        cookie: null_mut(),
        note_id: -1,
        port_index: -1,
        channel: -1,
        key: -1,
        value: (at as f64 + 0.5) / BLOCK as f64,
    }
}

fn buffer(channels: &mut [*mut f32]) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels.as_mut_ptr(),
        data64: null_mut(),
        channel_count: channels.len() as u32,
        latency: 0,
        constant_mask: 0,
    }
}

unsafe extern "C" fn size(list: *const clap_input_events) -> u32 {
    // SAFETY: made by `play`.
    unsafe { (*(*list).ctx.cast::<Vec<clap_event_param_value>>()).len() as u32 }
}

unsafe extern "C" fn get(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: made by `play`.
    let events = unsafe { &*(*list).ctx.cast::<Vec<clap_event_param_value>>() };
    events
        .get(index as usize)
        .map_or(null(), |event| &raw const event.header)
}

unsafe extern "C" fn ignore(
    _list: *const clap_output_events,
    _event: *const clap_event_header,
) -> bool {
    true
}
