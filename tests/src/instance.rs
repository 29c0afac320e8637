//! One plugin instance: activation, processing, state, restarts.

use crate::events::{Change, Parameter, events};
use crate::host::{Host, MainThread, Requests};
use crate::saved_state::{self, SavedMeasurement};
use crate::session::Session;
use crate::song::Song;
use anyhow::{Context, Result, anyhow, bail, ensure};
use clack_extensions::audio_ports_config::{AudioPortsConfigBuffer, PluginAudioPortsConfig};
use clack_extensions::latency::PluginLatency;
use clack_extensions::params::PluginParams;
use clack_extensions::render::{PluginRender, RenderMode};
use clack_extensions::state::PluginState;
use clack_extensions::tail::PluginTail;
use clack_host::prelude::*;
use std::collections::HashMap;
use std::ffi::CStr;
use std::sync::atomic::Ordering::Relaxed;

/// Most channels of a bus.
const CHANNELS: usize = 2;

/// A plugin instance, active and processing. Parameters that are set wait for the next block.
pub struct Instance {
    pub(crate) plugin: PluginInstance<Host>,
    processor: Option<StartedPluginAudioProcessor<Host>>,
    session: Session,
    pub(crate) queue: Vec<Change>,
    /// Parameters that have been looked up.
    pub(crate) known: HashMap<String, Parameter>,
    /// Copies of the input: a plugin must not read what a host has already overwritten.
    main_in: Vec<Vec<f32>>,
    spot_in: Vec<Vec<f32>>,
    song: Option<Song>,
    inputs: AudioPorts,
    outputs: AudioPorts,
    /// Events from the plugin since they were last read.
    pub(crate) output_events: EventBuffer,
    pub(crate) editor_is_open: bool,
}

impl Instance {
    pub(crate) fn open(entry: &PluginEntry, id: &CStr, session: &Session) -> Result<Self> {
        let host = HostInfo::new("Plumbline hosting", "Plumbline", "", "0.1.0")?;
        let plugin = PluginInstance::<Host>::new(
            |()| Requests::default(),
            |requests| MainThread(requests),
            entry,
            id,
            &host,
        )?;
        let blocks = || vec![vec![0.0; session.max_block as usize]; CHANNELS];
        let mut instance = Self {
            plugin,
            processor: None,
            session: *session,
            queue: Vec::new(),
            known: HashMap::new(),
            main_in: blocks(),
            spot_in: blocks(),
            song: None,
            inputs: AudioPorts::with_capacity(2 * CHANNELS, 2),
            outputs: AudioPorts::with_capacity(CHANNELS, 1),
            output_events: EventBuffer::new(),
            editor_is_open: false,
        };
        instance.select_layout()?;
        instance.set_render_mode()?;
        instance.start()?;
        Ok(instance)
    }

    /// What it was opened with.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Works in place on the main channels. The channel counts are those of the layout; all channels have one length,
    /// at most the longest block, also 0.
    pub fn process(&mut self, main: &mut [&mut [f32]], spot: &[&[f32]]) -> Result<()> {
        let (main_channels, spot_channels) = self.session.layout.channels();
        ensure!(
            (main.len(), spot.len()) == (main_channels, spot_channels),
            "{:?} has {main_channels} main and {spot_channels} spot channels",
            self.session.layout
        );
        let length = main[0].len();
        ensure!(
            length <= self.session.max_block as usize,
            "a block of {length} in a session of {}",
            self.session.max_block
        );
        copy(&mut self.main_in, main.iter().map(|channel| &**channel))?;
        copy(&mut self.spot_in, spot.iter().copied())?;
        self.run(main, length)?;
        self.serve_main_thread();
        Ok(())
    }

    /// The transport runs from here from the next block on; `None`: it stands, as it does at first.
    pub fn play_from(&mut self, song: Option<Song>) {
        self.song = song;
    }

    /// The latency that a host would compensate now, samples.
    pub fn latency(&mut self) -> u32 {
        match self.extension::<PluginLatency>() {
            Ok(latency) => latency.get(&self.plugin.plugin_handle()),
            Err(_) => 0,
        }
    }

    /// How often the plugin has said that its latency is another one.
    pub fn latency_changes(&self) -> u32 {
        self.requests(|requests| requests.latency_changes.load(Relaxed))
    }

    /// How often the plugin has said that there is something new to save.
    pub fn unsaved(&self) -> u32 {
        self.requests(|requests| requests.unsaved.load(Relaxed))
    }

    /// Samples that sound on after the input has ended, as of the last block.
    pub fn tail(&mut self) -> Result<u32> {
        let tail = self.extension::<PluginTail>()?;
        let processor = self
            .processor
            .as_mut()
            .context("the plugin is not active")?;
        Ok(tail.get(&processor.plugin_handle()).to_raw())
    }

    /// The plugin's state, as a host stores it.
    pub fn save(&mut self) -> Result<Vec<u8>> {
        let mut state = Vec::new();
        self.extension::<PluginState>()?
            .save(&self.plugin.plugin_handle(), &mut state)?;
        Ok(state)
    }

    /// Gives the plugin a stored state. Refused states are errors and change nothing.
    pub fn load(&mut self, state: &[u8]) -> Result<()> {
        let mut reader = state;
        self.extension::<PluginState>()?
            .load(&self.plugin.plugin_handle(), &mut reader)?;
        self.serve_main_thread();
        Ok(())
    }

    /// What has been measured so far, out of the saved state.
    pub fn measurement(&mut self) -> Result<Option<SavedMeasurement>> {
        saved_state::measurement(&self.save()?)
    }

    /// Clears the audio, as a host does when the transport jumps.
    pub fn reset(&mut self) {
        if let Some(processor) = &mut self.processor {
            processor.reset();
        }
    }

    /// True when the plugin has asked for a restart that it has not got yet.
    pub fn wants_restart(&self) -> bool {
        self.requests(|requests| requests.restart.load(Relaxed))
    }

    /// Restarts the plugin if it has asked for that; true when it had.
    pub fn restart_if_requested(&mut self) -> Result<bool> {
        let wanted = self.wants_restart();
        if wanted {
            self.restart()?;
        }
        Ok(wanted)
    }

    /// Stops and starts the plugin. What is queued is taken over in between, as when a host opens a session: a change
    /// of mode or reach then counts from the first sample.
    pub fn restart(&mut self) -> Result<()> {
        self.stop();
        self.flush()?;
        self.start()
    }

    /// Stops, does what a host does between activations, and starts.
    pub fn restart_around(
        &mut self,
        work: impl FnOnce(&clap_sys::plugin::clap_plugin),
    ) -> Result<()> {
        self.stop();
        work(self.plugin.raw_instance());
        self.flush()?;
        self.start()
    }

    /// Restarts at another rate, block length or kind of render. The layout stays.
    pub fn reopen(&mut self, session: &Session) -> Result<()> {
        self.stop();
        let blocks = || vec![vec![0.0; session.max_block as usize]; CHANNELS];
        (self.main_in, self.spot_in) = (blocks(), blocks());
        self.session = Session {
            layout: self.session.layout,
            ..*session
        };
        self.set_render_mode()?;
        self.flush()?;
        self.start()
    }

    /// The plugin's own structure, for tests that hand over what no library would.
    pub fn raw(&self) -> &clap_sys::plugin::clap_plugin {
        self.plugin.raw_instance()
    }

    fn select_layout(&mut self) -> Result<()> {
        let name = self.session.layout.name();
        let configs = self.extension::<PluginAudioPortsConfig>()?;
        let handle = self.plugin.plugin_handle();
        let mut buffer = AudioPortsConfigBuffer::new();
        for index in 0..configs.count(&handle) {
            let config = configs.get(&handle, index, &mut buffer);
            if let Some(config) = config.filter(|config| config.name == name.as_bytes()) {
                return Ok(configs.select(&handle, config.id)?);
            }
        }
        bail!("the plugin has no layout \"{name}\"")
    }

    fn set_render_mode(&mut self) -> Result<()> {
        let mode = match self.session.offline {
            true => RenderMode::Offline,
            false => RenderMode::Realtime,
        };
        let render = self.extension::<PluginRender>()?;
        Ok(render.set(&self.plugin.plugin_handle(), mode)?)
    }

    fn start(&mut self) -> Result<()> {
        self.requests(|requests| requests.restart.store(false, Relaxed));
        let configuration = PluginAudioConfiguration {
            sample_rate: self.session.sample_rate,
            min_frames_count: 1,
            max_frames_count: self.session.max_block,
        };
        let stopped = self.plugin.activate(|_, _| (), configuration)?;
        let started = stopped.start_processing();
        self.processor =
            Some(started.map_err(|_| anyhow!("the plugin does not start processing"))?);
        self.serve_main_thread();
        Ok(())
    }

    fn stop(&mut self) {
        if let Some(processor) = self.processor.take() {
            self.plugin.deactivate(processor.stop_processing());
        }
    }

    fn flush(&mut self) -> Result<()> {
        let params = self.extension::<PluginParams>()?;
        let events = events(&mut self.queue);
        let mut inactive = self
            .plugin
            .inactive_plugin_handle()
            .context("the plugin is still active")?;
        params.flush(
            &mut inactive,
            &InputEvents::from_buffer(&events),
            &mut OutputEvents::void(),
        );
        Ok(())
    }

    fn run(&mut self, main: &mut [&mut [f32]], length: usize) -> Result<()> {
        let (main_channels, spot_channels) = self.session.layout.channels();
        let ports = [
            &mut self.main_in[..main_channels],
            &mut self.spot_in[..spot_channels],
        ];
        let connected = if spot_channels > 0 { 2 } else { 1 };
        let ports = ports.into_iter().take(connected);
        let inputs = self.inputs.with_input_buffers(ports.map(|port| {
            let channels = port
                .iter_mut()
                .map(|c| InputChannel::variable(&mut c[..length]));
            AudioPortBuffer {
                latency: 0,
                channels: AudioPortBufferType::f32_input_only(channels),
            }
        }));
        let channels = main.iter_mut().map(|channel| &mut **channel);
        let mut outputs = self.outputs.with_output_buffers([AudioPortBuffer {
            latency: 0,
            channels: AudioPortBufferType::f32_output_only(channels),
        }]);
        let transport = self.song.map(|song| song.event());
        let events = events(&mut self.queue);
        let processor = self.processor.as_mut();
        processor.context("the plugin is not active")?.process(
            &inputs,
            &mut outputs,
            &InputEvents::from_buffer(&events),
            &mut OutputEvents::from_buffer(&mut self.output_events),
            None,
            transport.as_ref(),
        )?;
        let seconds = length as f64 / self.session.sample_rate;
        self.song = self.song.map(|song| song.after(seconds));
        Ok(())
    }

    /// Runs what the plugin has asked to run on the main thread.
    pub(crate) fn serve_main_thread(&mut self) {
        if self.requests(|requests| requests.callback.swap(false, Relaxed)) {
            self.plugin.call_on_main_thread_callback();
        }
    }

    pub(crate) fn requests<R>(&self, read: impl FnOnce(&Requests) -> R) -> R {
        self.plugin.access_shared_handler(read)
    }

    pub(crate) fn extension<E>(&mut self) -> Result<E>
    where
        E: clack_host::extensions::Extension<
                ExtensionSide = clack_host::extensions::PluginExtensionSide,
            >,
    {
        let extension = self.plugin.plugin_handle().get_extension();
        extension.context("the plugin lacks an extension that a host needs")
    }
}

impl Drop for Instance {
    fn drop(&mut self) {
        self.close_editor();
        self.stop();
    }
}

fn copy<'a>(to: &mut [Vec<f32>], from: impl Iterator<Item = &'a [f32]>) -> Result<()> {
    for (to, from) in to.iter_mut().zip(from) {
        to.get_mut(..from.len())
            .context("a channel is longer than the block")?
            .copy_from_slice(from);
    }
    Ok(())
}
