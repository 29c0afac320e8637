//! The VST3 host that misbehaves.

use super::Driver;
use super::case::{Arrange, Bus, FIRST_LONGEST, Place, Play, Restart, Step, SwitchedBus};
use super::judge::{Audio, pointers};
use crate::vst3::buses::{INPUT, OUTPUT, switch};
use crate::vst3::host::{
    Render, RenderSetup, Vst3, block, bus, null_bus, process_context, stopped_context,
};
use crate::vst3::objects::{Changes, Points};
use fastrand::Rng;
use plumbline_hosting::{Song, Tempo};
use vst3::ComWrapper;
use vst3::Steinberg::Vst::SpeakerArr::{k51, kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::{
    AudioBusBuffers, IAudioProcessorTrait, IEditControllerTrait, IParameterChanges, ProcessContext,
};

pub struct Host {
    plugin: Vst3,
    parameters: Vec<u32>,
    setup: RenderSetup,
    /// The output is switched on.
    is_on: bool,
}

impl Host {
    pub fn new() -> Self {
        let plugin = Vst3::new();
        let setup = RenderSetup {
            render: Render::Realtime,
            sample_rate: 48_000.0,
            longest: FIRST_LONGEST,
        };
        plugin.start_on(setup);
        let parameters = plugin.parameters();
        Self {
            plugin,
            parameters,
            setup,
            is_on: true,
        }
    }

    /// Queues of made-up points, some of nobody's parameters.
    fn points(&self, random: &mut Rng, count: usize, frames: usize) -> Vec<Points> {
        let mut queues: Vec<Points> = Vec::new();
        for _ in 0..count {
            let point = (time(random, frames) as i32, value(random));
            if random.u32(0..4) > 0 && !queues.is_empty() {
                let queue = random.usize(0..queues.len());
                queues[queue].points.push(point);
                continue;
            }
            let known = random.usize(0..self.parameters.len());
            let id = match random.u32(0..20) {
                0 => random.u32(..),
                _ => self.parameters[known],
            };
            queues.push(Points {
                id,
                points: vec![point],
            });
        }
        queues
    }

    fn play(&self, play: &Play) -> Result<(), String> {
        let mut audio = Audio::new(play);
        let mut random = Rng::with_seed(play.seed);
        let points = self.points(&mut random, play.events, play.frames);
        let changes = ComWrapper::new(Changes::of(points));
        let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
        let mut main = pointers(play.input, &mut audio.input);
        let mut spot = pointers(play.spot, &mut audio.spot);
        let mut out = pointers(play.output, &mut audio.output);
        let mut inputs: Vec<_> = buses(play.input, &mut main);
        if !inputs.is_empty() {
            inputs.extend(buses(play.spot, &mut spot));
        }
        let mut outputs = buses(play.output, &mut out);
        let mut context = context(play.song, self.setup.sample_rate);
        let mut block = block(play.frames, &mut inputs, &mut outputs);
        block.inputParameterChanges = changes.as_ptr();
        block.processContext = context.as_mut().map_or(std::ptr::null_mut(), |c| c);
        // SAFETY: the buffers are as long as they say.
        unsafe { self.plugin.processor.process(&mut block) };
        match self.is_on {
            true => audio.judged(),
            false => audio.judged_silent(),
        }
    }

    fn restart(&mut self, restart: &Restart) {
        self.plugin.stop();
        self.setup = RenderSetup {
            render: match restart.offline {
                true => Render::Offline,
                false => Render::Realtime,
            },
            sample_rate: restart.sample_rate,
            longest: restart.longest,
        };
        self.plugin.start_on(self.setup);
    }

    fn arrange(&self, arrange: Arrange) {
        let speakers = |channels: u32| [kEmpty, kMono, kStereo, k51][channels as usize];
        let wanted = || {
            let spot = arrange.spot.map(speakers);
            self.plugin.arrange(speakers(arrange.main), spot)
        };
        if arrange.active {
            wanted();
            return;
        }
        self.plugin.stop();
        wanted();
        self.plugin.start_on(self.setup);
    }

    fn switch(&mut self, bus: SwitchedBus, on: bool) -> Result<(), String> {
        let place = match bus {
            SwitchedBus::MainIn => (INPUT, 0),
            SwitchedBus::Spot => (INPUT, 1),
            SwitchedBus::MainOut => (OUTPUT, 0),
            SwitchedBus::Unknown => (OUTPUT, 1),
        };
        let switched = switch(&self.plugin, place, on);
        match bus {
            SwitchedBus::MainOut => self.is_on = on,
            SwitchedBus::Unknown if switched => return Err("a bus that there is not".into()),
            _ => {}
        }
        Ok(())
    }

    fn ask(&self, seed: u64) -> Result<(), String> {
        let mut random = Rng::with_seed(seed);
        for _ in 0..random.usize(1..20) {
            let id = self.parameters[random.usize(0..self.parameters.len())];
            let told = value(&mut random);
            // SAFETY: plain data.
            let read = unsafe {
                self.plugin.controller.setParamNormalized(id, told);
                self.plugin.controller.getParamNormalized(id)
            };
            if !(0.0..=1.0).contains(&read) {
                return Err(format!("{id} told {told} reads {read}"));
            }
        }
        Ok(())
    }
}

impl Driver for Host {
    fn step(&mut self, step: &Step) -> Result<(), String> {
        match step {
            Step::Play(play) => return self.play(play),
            Step::Restart(restart) => self.restart(restart),
            Step::Load(damage) => {
                self.plugin.load(&damage.done_to(self.plugin.save(), 0));
            }
            Step::Flush { seed } => {
                let mut random = Rng::with_seed(*seed);
                let points = self.points(&mut random, 30, 0);
                let changes = ComWrapper::new(Changes::of(points));
                let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
                let mut block = block(0, &mut [], &mut []);
                block.inputParameterChanges = changes.as_ptr();
                // SAFETY: there are no buffers.
                unsafe { self.plugin.processor.process(&mut block) };
            }
            Step::Reset => {
                self.plugin.stop();
                self.plugin.start_on(self.setup);
            }
            Step::Arrange(wanted) => self.arrange(*wanted),
            Step::Switch { bus, on } => return self.switch(*bus, *on),
            Step::Ask { seed } => return self.ask(*seed),
        }
        Ok(())
    }
}

/// A time in, before or behind a block.
pub fn time(random: &mut Rng, frames: usize) -> i64 {
    match random.u32(0..20) {
        0 => -random.i64(0..1_000),
        1 => random.i64(0..1 << 31),
        _ => random.i64(0..=frames as i64),
    }
}

/// A value between 0 and 1, or none.
pub fn value(random: &mut Rng) -> f64 {
    match random.u32(0..30) {
        0 => f64::NAN,
        1 => f64::INFINITY,
        2 => -1e30,
        3 => 0.0,
        4 => 1.0,
        _ => random.f64(),
    }
}

/// At most one bus of these channels.
fn buses(kind: Bus, channels: &mut Option<Vec<*mut f32>>) -> Vec<AudioBusBuffers> {
    let bus_of = |channels: &mut Vec<*mut f32>| match kind {
        Bus::NullArray => null_bus(2),
        _ => bus(channels),
    };
    channels.as_mut().map(bus_of).into_iter().collect()
}

fn context(song: Place, sample_rate: f64) -> Option<ProcessContext> {
    let (seconds, bpm) = match song {
        Place::Unknown => return None,
        Place::Rolling(seconds, bpm) => (seconds, bpm),
        Place::Stopped(seconds) => (seconds, 120.0),
    };
    let song_at = Song {
        seconds,
        tempo: Tempo::steady(120.0),
        beats_per_bar: 4,
    };
    let context = match song {
        Place::Stopped(_) => stopped_context(&song_at, sample_rate),
        _ => process_context(&song_at, sample_rate),
    };
    Some(ProcessContext {
        tempo: bpm,
        ..context
    })
}
