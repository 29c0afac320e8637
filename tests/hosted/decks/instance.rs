//! An instance of either format in Sweep mode, and a probe tone whose phase is the moving deck's offset.

use crate::library::open;
use crate::vst3::host::{Render, RenderSetup, Vst3, bus, process_context};
use crate::vst3::objects::Change;
use plumbline_hosting::{Instance, Session, Song};
use std::f64::consts::TAU;
use std::ptr::null_mut;
use vst3::Steinberg::Vst::IAudioProcessorTrait;
use vst3::Steinberg::Vst::SpeakerArr::kStereo;
use vst3::Steinberg::kResultOk;

/// How the built plugin is loaded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Clap,
    Vst3,
}

impl Format {
    pub const BOTH: [Self; 2] = [Self::Clap, Self::Vst3];
}

/// What the decks are opened in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DecksSession {
    pub format: Format,
    /// Samples a second.
    pub rate: f64,
    pub render: Render,
}

impl DecksSession {
    /// At 48 kHz, in real time.
    pub fn of(format: Format) -> Self {
        Self {
            format,
            rate: 48_000.0,
            render: Render::Realtime,
        }
    }
}

/// Both channels.
pub type Pair = [Vec<f32>; 2];

/// Longest block.
pub const LONGEST: usize = 4096;

/// A stereo instance in Sweep mode.
pub struct DecksInstance {
    loaded: Loaded,
    rate: f64,
    song: Option<Song>,
}

enum Loaded {
    Clap(Box<Instance>),
    Vst3(Vst3, Vec<Change>),
}

impl DecksInstance {
    /// With these settings, in their own units, from the first sample on; the transport is stopped.
    pub fn open(session: DecksSession, settings: &[(&'static str, f64)]) -> Self {
        let settings = [&[("mode", 1.0)], settings].concat();
        let loaded = match session.format {
            Format::Clap => clap(session, &settings),
            Format::Vst3 => vst3(session, &settings),
        };
        Self {
            loaded,
            rate: session.rate,
            song: None,
        }
    }

    /// Samples that a host would compensate.
    pub fn latency(&mut self) -> usize {
        match &mut self.loaded {
            Loaded::Clap(instance) => instance.latency() as usize,
            Loaded::Vst3(plugin, _) => plugin.latency() as usize,
        }
    }

    /// Samples that sound on after the input's end, as of the last block.
    pub fn tail(&mut self) -> usize {
        match &mut self.loaded {
            Loaded::Clap(instance) => instance.tail().unwrap() as usize,
            // SAFETY: no arguments.
            Loaded::Vst3(plugin, _) => unsafe { plugin.processor.getTailSamples() as usize },
        }
    }

    /// Stops and starts the instance, with what was set last.
    pub fn restart(&mut self) {
        match &mut self.loaded {
            Loaded::Clap(instance) => instance.restart().unwrap(),
            Loaded::Vst3(..) => unreachable!("a VST3 host stops and starts with its own set-up"),
        }
    }

    /// The transport runs from here from the next block on; `None`: it stands.
    pub fn play_from(&mut self, song: Option<Song>) {
        self.song = song;
    }

    /// Sets a parameter, in its own unit, on a sample of the next block. Those of a block come in order.
    pub fn set_at(&mut self, frame: usize, id: &'static str, plain: f64) {
        match &mut self.loaded {
            Loaded::Clap(instance) => instance.set_at(frame as u32, id, plain).unwrap(),
            Loaded::Vst3(plugin, changes) => {
                let normalized = plugin.normalized(id, plain);
                changes.push(Change {
                    frame,
                    id,
                    normalized,
                });
            }
        }
    }

    /// At the start of the next block.
    pub fn set(&mut self, id: &'static str, plain: f64) {
        self.set_at(0, id, plain);
    }

    /// One block.
    pub fn block(&mut self, input: [&[f32]; 2]) -> Pair {
        let mut audio = input.map(<[f32]>::to_vec);
        let count = audio[0].len();
        let [first, second] = &mut audio;
        match &mut self.loaded {
            Loaded::Clap(instance) => {
                instance.play_from(self.song);
                let silent = vec![0.0; count];
                let spot = [&silent[..]; 2];
                instance.process(&mut [first, second], &spot).unwrap();
            }
            Loaded::Vst3(plugin, changes) => {
                let mut context = self.song.map(|song| process_context(&song, self.rate));
                let context = context.as_mut().map_or(null_mut(), |context| context);
                let mut channels = input.map(|channel| channel.as_ptr().cast_mut());
                let mut out = [first.as_mut_ptr(), second.as_mut_ptr()];
                let changes = std::mem::take(changes);
                let (mut inputs, mut outputs) = ([bus(&mut channels)], [bus(&mut out)]);
                let result = plugin.play(context, count, &mut inputs, &mut outputs, &changes);
                assert_eq!(result, kResultOk);
            }
        }
        self.song = self.song.map(|song| song.after(count as f64 / self.rate));
        audio
    }

    /// Both channels in blocks whose lengths come from `lengths`.
    pub fn run(&mut self, input: &Pair, mut lengths: impl FnMut() -> usize) -> Pair {
        self.run_drawn(input, &mut lengths, |_, _| ())
    }

    /// The same; before each block `draw` may set what it likes, told the block's first sample and its length.
    pub fn run_drawn(
        &mut self,
        input: &Pair,
        lengths: &mut dyn FnMut() -> usize,
        mut draw: impl FnMut(&mut Self, std::ops::Range<usize>),
    ) -> Pair {
        let mut out = Pair::default();
        let mut at = 0;
        while at < input[0].len() {
            let end = input[0].len().min(at + lengths());
            draw(self, at..end);
            let block = self.block([&input[0][at..end], &input[1][at..end]]);
            for (out, block) in out.iter_mut().zip(block) {
                out.extend(block);
            }
            at = end;
        }
        out
    }
}

fn clap(session: DecksSession, settings: &[(&'static str, f64)]) -> Loaded {
    let mut instance = open(Session {
        sample_rate: session.rate,
        max_block: LONGEST as u32,
        offline: session.render == Render::Offline,
        ..Session::default()
    });
    for (id, value) in settings {
        instance.set(id, *value).unwrap();
    }
    instance.restart().unwrap();
    Loaded::Clap(Box::new(instance))
}

fn vst3(session: DecksSession, settings: &[(&'static str, f64)]) -> Loaded {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(kStereo, Some(kStereo)), kResultOk);
    for (id, value) in settings {
        plugin.preset(id, *value);
    }
    plugin.start_on(RenderSetup {
        render: session.render,
        sample_rate: session.rate,
        longest: LONGEST,
    });
    Loaded::Vst3(plugin, Vec::new())
}

/// Low enough that the farthest offset with its wow, 24 ms either way, stays within half a turn.
const PROBE_HZ: f64 = 20.0;

/// A tone whose phase says where the moving deck is: cosine and sine in the two channels.
pub fn probe_tone(rate: f64, count: usize) -> Pair {
    let turns = |n: usize| TAU * (n as f64 * PROBE_HZ / rate).fract();
    [
        (0..count).map(|n| turns(n).cos() as f32).collect(),
        (0..count).map(|n| turns(n).sin() as f32).collect(),
    ]
}

/// Moving deck minus fixed deck over the probe_tone's samples, seconds, from what a decks with `blend` at 100 % made of it:
/// the first is that of the probe_tone's first sample, when it came out.
pub fn offsets_s(out: &Pair, rate: f64, latency: usize) -> Vec<f64> {
    let samples = out[0].iter().zip(&out[1]).skip(latency).enumerate();
    let offset = |(n, (cosine, sine)): (usize, (&f32, &f32))| {
        let phase = f64::from(*sine).atan2(f64::from(*cosine)) / TAU;
        let turns = (n as f64 * PROBE_HZ / rate).fract() - phase;
        (turns - turns.round()) / PROBE_HZ
    };
    samples.map(offset).collect()
}

/// Power of the difference, dB of full scale. Single samples may round to the next number of single precision.
pub fn difference_db(a: &[f32], b: &[f32]) -> f64 {
    let power: f64 = a.iter().zip(b).map(|(a, b)| f64::from(a - b).powi(2)).sum();
    10.0 * (power / a.len() as f64).log10()
}
