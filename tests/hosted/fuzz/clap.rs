//! The CLAP host that misbehaves.

use super::Driver;
use super::case::{Arrange, Bus, FIRST_LONGEST, Place, Play, Restart, Step, SwitchedBus};
use super::judge::{Audio, pointers};
use super::vst3::{time, value};
use crate::clap::events::{Event, list};
use crate::clap::ports::{ask, request, select, switch};
use crate::clap::traps::{infos, params, running};
use crate::library::open;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::events::{CLAP_TRANSPORT_IS_PLAYING, clap_event_transport};
use clap_sys::ext::params::clap_param_info;
use clap_sys::plugin::clap_plugin;
use clap_sys::process::clap_process;
use fastrand::Rng;
use plumbline_hosting::{Instance, Session};
use std::ptr::{from_ref, null, null_mut};

pub struct Clap {
    instance: Instance,
    infos: Vec<clap_param_info>,
    session: Session,
    /// The output is switched on.
    is_on: bool,
}

impl Clap {
    pub fn new() -> Self {
        let session = Session {
            max_block: FIRST_LONGEST as u32,
            ..Session::default()
        };
        let instance = open(session);
        let infos = infos(instance.raw());
        Self {
            instance,
            infos,
            session,
            is_on: true,
        }
    }

    fn events(&self, random: &mut Rng, count: usize, frames: usize) -> Vec<Event> {
        let mut events: Vec<Event> = (0..count).map(|_| self.event(random, frames)).collect();
        if random.u32(0..4) == 0 {
            random.shuffle(&mut events);
        }
        events
    }

    fn event(&self, random: &mut Rng, frames: usize) -> Event {
        let at = time(random, frames) as u32;
        let info = &self.infos[random.usize(0..self.infos.len())];
        let plain = info.min_value + value(random) * (info.max_value - info.min_value);
        let mut event = match random.u32(0..20) {
            0 => Event::Null,
            1 => Event::value(at, random.u32(..), plain),
            2 => Event::place(at, running(random.f64() * 1_000.0)),
            3..6 => Event::offset(at, info.id, value(random) - 0.5),
            _ => Event::value(at, info.id, plain),
        };
        if let (0, Some(header)) = (random.u32(0..50), event.header_mut()) {
            (header.space_id, header.type_) = (random.u16(..), random.u16(..));
            header.size = header.size.min(random.u32(16..64));
        }
        event
    }

    fn play(&self, play: &Play) -> Result<(), String> {
        let mut audio = Audio::new(play);
        let mut random = Rng::with_seed(play.seed);
        let events = self.events(&mut random, play.events, play.frames);
        let mut main = pointers(play.input, &mut audio.input);
        let mut spot = pointers(play.spot, &mut audio.spot);
        let mut out = pointers(play.output, &mut audio.output);
        let mut inputs = buffers(play.input, &mut main);
        if !inputs.is_empty() {
            inputs.extend(buffers(play.spot, &mut spot));
        }
        let mut outputs = buffers(play.output, &mut out);
        let (events, transport) = (list(&events), transport(play.song));
        let block = clap_process {
            steady_time: -1,
            frames_count: play.frames as u32,
            transport: transport.as_ref().map_or(null(), from_ref),
            audio_inputs: inputs.as_ptr(),
            audio_outputs: outputs.as_mut_ptr(),
            audio_inputs_count: inputs.len() as u32,
            audio_outputs_count: outputs.len() as u32,
            in_events: &events,
            out_events: null(),
        };
        let plugin = self.instance.raw();
        // SAFETY: the counts are those of the buffers.
        unsafe { plugin.process.unwrap()(plugin, &block) };
        match self.is_on {
            true => audio.judged(),
            false => audio.judged_silent(),
        }
    }

    fn restart(&mut self, restart: &Restart) -> Result<(), String> {
        self.session = Session {
            sample_rate: restart.sample_rate,
            max_block: restart.longest as u32,
            offline: restart.offline,
            ..self.session
        };
        let reopened = self.instance.reopen(&self.session);
        reopened.map_err(|error| format!("{error:#}"))
    }

    /// Port by port, or by the number of a layout; an active plugin must refuse.
    fn arrange(&mut self, arrange: Arrange) -> Result<(), String> {
        let wanted = |plugin: &clap_plugin| match arrange.spot {
            Some(spot) => {
                let main = [true, false].map(|is_input| request(is_input, 0, arrange.main, None));
                ask(plugin, &[main[0], request(true, 1, spot, None), main[1]])
            }
            None => select(plugin, 3 + arrange.main),
        };
        if arrange.active {
            return match wanted(self.instance.raw()) {
                true => Err("other ports while it is active".into()),
                false => Ok(()),
            };
        }
        let mut done = false;
        let restarted = self.instance.restart_around(|plugin| done = wanted(plugin));
        self.is_on |= done;
        restarted.map_err(|error| format!("{error:#}"))
    }

    fn switch(&mut self, bus: SwitchedBus, on: bool) -> Result<(), String> {
        let (is_input, index) = match bus {
            SwitchedBus::MainIn => (true, 0),
            SwitchedBus::Spot => (true, 1),
            SwitchedBus::MainOut => (false, 0),
            SwitchedBus::Unknown => (true, 2),
        };
        let switched = switch(self.instance.raw(), is_input, index, on);
        match bus {
            SwitchedBus::MainOut => self.is_on = on,
            SwitchedBus::Unknown if switched => return Err("a port that there is not".into()),
            _ => {}
        }
        Ok(())
    }

    fn ask(&self, seed: u64) -> Result<(), String> {
        let plugin = self.instance.raw();
        let get = params(plugin).get_value.unwrap();
        let mut random = Rng::with_seed(seed);
        for info in &self.infos {
            let (mut value, mut nothing) = (f64::NAN, f64::NAN);
            // SAFETY: the pointers are valid.
            let found = unsafe {
                get(plugin, random.u32(..), &mut nothing);
                get(plugin, info.id, &mut value)
            };
            if !found || !(info.min_value..=info.max_value).contains(&value) {
                return Err(format!("{} reads {value}", info.id));
            }
        }
        Ok(())
    }
}

impl Driver for Clap {
    fn step(&mut self, step: &Step) -> Result<(), String> {
        match step {
            Step::Play(play) => return self.play(play),
            Step::Restart(restart) => return self.restart(restart),
            Step::Load(damage) => {
                let state = self.instance.save().map_err(|error| format!("{error:#}"))?;
                // A refusal is as good as any.
                let _ = self.instance.load(&damage.done_to(state, 8));
            }
            Step::Flush { seed } => {
                let mut random = Rng::with_seed(*seed);
                let events = self.events(&mut random, 30, 0);
                let plugin = self.instance.raw();
                // SAFETY: the list outlives the call; nothing is being processed.
                unsafe { params(plugin).flush.unwrap()(plugin, &list(&events), null()) };
            }
            Step::Reset => self.instance.reset(),
            Step::Arrange(wanted) => return self.arrange(*wanted),
            Step::Switch { bus, on } => return self.switch(*bus, *on),
            Step::Ask { seed } => return self.ask(*seed),
        }
        Ok(())
    }
}

fn buffers(kind: Bus, channels: &mut Option<Vec<*mut f32>>) -> Vec<clap_audio_buffer> {
    let buffer = |channels: &mut Vec<*mut f32>| clap_audio_buffer {
        data32: match kind {
            Bus::NullArray => null_mut(),
            _ => channels.as_mut_ptr(),
        },
        data64: null_mut(),
        channel_count: match kind {
            Bus::NullArray => 2,
            _ => channels.len() as u32,
        },
        latency: 0,
        constant_mask: 0,
    };
    channels.as_mut().map(buffer).into_iter().collect()
}

fn transport(song: Place) -> Option<clap_event_transport> {
    match song {
        Place::Unknown => None,
        Place::Rolling(seconds, bpm) => {
            let mut transport = running(seconds);
            transport.tempo = bpm;
            Some(transport)
        }
        Place::Stopped(seconds) => {
            let mut transport = running(seconds);
            transport.flags &= !CLAP_TRANSPORT_IS_PLAYING;
            Some(transport)
        }
    }
}
