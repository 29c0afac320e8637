//! A minimal VST3 host: load, arrange buses, set up, process any pointers that a test passes.

use crate::buffers::pointers::BLOCK;
use crate::library::strict_library;
use crate::vst3::objects::{Change, Changes, Handler, Stream, number};
use libloading::{Library, Symbol};
use plumbline_hosting::Song;
use std::ffi::{c_char, c_void};
use std::ptr::{null_mut, with_exposed_provenance_mut};
use vst3::Steinberg::Vst::ProcessContext_::StatesAndFlags_::{
    kBarPositionValid, kPlaying, kProjectTimeMusicValid, kTempoValid, kTimeSigValid,
};
use vst3::Steinberg::Vst::ProcessModes_::{kOffline, kRealtime};
use vst3::Steinberg::Vst::SymbolicSampleSizes_::kSample32;
use vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, IAudioProcessor, IAudioProcessorTrait, IComponent,
    IComponentHandler, IComponentTrait, IEditController, IEditControllerTrait, IParameterChanges,
    ParameterInfo, ProcessContext, ProcessData, ProcessSetup, SpeakerArrangement,
};
use vst3::Steinberg::{
    IBStream, IPluginBaseTrait, IPluginFactory, IPluginFactoryTrait, PClassInfo, int32, kResultOk,
    tresult,
};
use vst3::{ComPtr, ComWrapper, Interface};

/// Real time or an offline render.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Render {
    Realtime,
    Offline,
}

/// What a host decides before it starts an instance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RenderSetup {
    pub render: Render,
    /// Samples a second.
    pub sample_rate: f64,
    /// Longest block, samples.
    pub longest: usize,
}

/// One instance.
pub struct Vst3 {
    pub component: ComPtr<IComponent>,
    pub processor: ComPtr<IAudioProcessor>,
    pub controller: ComPtr<IEditController>,
    /// Flags of the last restart that the plugin asked for.
    pub restart: ComWrapper<Handler>,
    /// Of the factory, in hexadecimal digits.
    pub class: String,
    /// Last: the library outlives what came from it.
    _library: Library,
}

impl Vst3 {
    /// Makes an instance and gives it a handler; nothing is arranged or active yet.
    pub fn new() -> Self {
        // SAFETY: loading a library runs its code; this one is our own, and so are the signatures.
        let (library, factory) = unsafe {
            let library = Library::new(strict_library()).expect("the library loads");
            let entry: Symbol<'_, extern "system" fn() -> *mut IPluginFactory> = library
                .get(b"GetPluginFactory")
                .expect("it has a VST3 entry");
            let factory = ComPtr::from_raw(entry()).expect("it has a factory");
            (library, factory)
        };
        let component: ComPtr<IComponent> = instance(&factory);
        let processor = component.cast().expect("it processes audio");
        let controller: ComPtr<IEditController> = component.cast().expect("it has parameters");
        let restart = ComWrapper::new(Handler::default());
        let handler = restart.to_com_ptr::<IComponentHandler>().unwrap();
        // SAFETY: the pointers are valid.
        unsafe {
            assert_eq!(component.initialize(null_mut()), kResultOk);
            assert_eq!(controller.setComponentHandler(handler.as_ptr()), kResultOk);
        }
        Self {
            component,
            processor,
            controller,
            restart,
            class: class(&factory),
            _library: library,
        }
    }

    /// Asks for buses of these widths.
    pub fn arrange(&self, main: SpeakerArrangement, spot: Option<SpeakerArrangement>) -> tresult {
        let mut inputs = [main, spot.unwrap_or(0)];
        let mut output = main;
        let count = if spot.is_some() { 2 } else { 1 };
        // SAFETY: the counts are right.
        unsafe {
            self.processor
                .setBusArrangements(inputs.as_mut_ptr(), count, &mut output, 1)
        }
    }

    /// Sets up, activates and starts at 48 kHz.
    pub fn start(&self, render: Render) {
        self.start_on(RenderSetup {
            render,
            sample_rate: 48_000.0,
            longest: BLOCK,
        });
    }

    /// Sets up, activates and starts.
    pub fn start_on(&self, setup: RenderSetup) {
        let mut setup = ProcessSetup {
            processMode: match setup.render {
                Render::Realtime => kRealtime as int32,
                Render::Offline => kOffline as int32,
            },
            symbolicSampleSize: kSample32 as int32,
            maxSamplesPerBlock: setup.longest as int32,
            sampleRate: setup.sample_rate,
        };
        // SAFETY: the pointer is valid.
        unsafe {
            assert_eq!(self.processor.setupProcessing(&mut setup), kResultOk);
            assert_eq!(self.component.setActive(1), kResultOk);
            self.processor.setProcessing(1);
        }
    }

    pub fn stop(&self) {
        // SAFETY: plain data.
        unsafe {
            self.processor.setProcessing(0);
            self.component.setActive(0);
        }
    }

    pub fn latency(&self) -> u32 {
        // SAFETY: no arguments.
        unsafe { self.processor.getLatencySamples() }
    }

    /// The number of every parameter.
    pub fn parameters(&self) -> Vec<u32> {
        // SAFETY: plain data that the plugin fills.
        let mut info: ParameterInfo = unsafe { std::mem::zeroed() };
        // SAFETY: no arguments.
        let count = unsafe { self.controller.getParameterCount() };
        let number = |index| {
            // SAFETY: `info` is valid.
            let result = unsafe { self.controller.getParameterInfo(index, &mut info) };
            assert_eq!(result, kResultOk);
            info.id
        };
        (0..count).map(number).collect()
    }

    /// A parameter's normalized value, 0 to 1, for a value in its own unit.
    pub fn normalized(&self, id: &str, plain: f64) -> f64 {
        // SAFETY: plain data.
        unsafe { self.controller.plainParamToNormalized(number(id), plain) }
    }

    /// Sets a parameter, in its own unit, while the instance does not run.
    pub fn preset(&self, id: &str, plain: f64) {
        let value = self.normalized(id, plain);
        // SAFETY: plain data.
        let result = unsafe { self.controller.setParamNormalized(number(id), value) };
        assert_eq!(result, kResultOk, "{id}");
    }

    /// Processes one block of whatever is in the buses, the transport stopped.
    pub fn process(
        &self,
        frames: usize,
        inputs: &mut [AudioBusBuffers],
        outputs: &mut [AudioBusBuffers],
        changes: &[(&'static str, f64)],
    ) -> tresult {
        let first = |&(id, normalized): &_| Change::first(id, normalized);
        let changes: Vec<Change> = changes.iter().map(first).collect();
        self.play(null_mut(), frames, inputs, outputs, &changes)
    }

    /// The same with the transport running from a position, or null.
    pub fn play(
        &self,
        context: *mut ProcessContext,
        frames: usize,
        inputs: &mut [AudioBusBuffers],
        outputs: &mut [AudioBusBuffers],
        changes: &[Change],
    ) -> tresult {
        let changes = ComWrapper::new(Changes::new(changes));
        let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
        let mut block = block(frames, inputs, outputs);
        block.inputParameterChanges = changes.as_ptr();
        block.processContext = context;
        // SAFETY: the counts are those of the slices, and what they point to is the test's promise.
        unsafe { self.processor.process(&mut block) }
    }

    /// The state, as a host stores it.
    pub fn save(&self) -> Vec<u8> {
        let stream = ComWrapper::new(Stream::default());
        let pointer = stream.to_com_ptr::<IBStream>().unwrap();
        // SAFETY: the pointer is valid.
        let result = unsafe { self.component.getState(pointer.as_ptr()) };
        assert_eq!(result, kResultOk);
        stream.bytes.borrow().clone()
    }

    pub fn load(&self, state: &[u8]) -> tresult {
        self.load_from(Stream::of(state))
    }

    /// A state that the host says the kind of.
    pub fn load_kind(&self, kind: &'static str, state: &[u8]) -> tresult {
        self.load_from(Stream::of_kind(state, kind))
    }

    fn load_from(&self, stream: Stream) -> tresult {
        let stream = ComWrapper::new(stream);
        let pointer = stream.to_com_ptr::<IBStream>().unwrap();
        // SAFETY: the pointer is valid.
        unsafe { self.component.setState(pointer.as_ptr()) }
    }
}

impl Drop for Vst3 {
    fn drop(&mut self) {
        self.stop();
        // SAFETY: the handler is not needed any more.
        unsafe {
            self.controller.setComponentHandler(null_mut());
            self.component.terminate();
        }
    }
}

fn class(factory: &ComPtr<IPluginFactory>) -> String {
    // SAFETY: plain data that the factory fills.
    let info = unsafe {
        let mut info: PClassInfo = std::mem::zeroed();
        assert_eq!(factory.getClassInfo(0, &mut info), kResultOk);
        info
    };
    info.cid.iter().map(|byte| format!("{byte:02X}")).collect()
}

fn instance(factory: &ComPtr<IPluginFactory>) -> ComPtr<IComponent> {
    let mut made: *mut c_void = null_mut();
    // SAFETY: the pointers are valid; `made` is a component when the factory says so.
    unsafe {
        let mut info: PClassInfo = std::mem::zeroed();
        assert_eq!(factory.getClassInfo(0, &mut info), kResultOk);
        let interface = IComponent::IID.as_ptr().cast::<c_char>();
        let result = factory.createInstance(info.cid.as_ptr(), interface, &mut made);
        assert_eq!(result, kResultOk);
        ComPtr::from_raw(made.cast()).expect("an instance")
    }
}

/// The transport as a VST3 host tells it: running.
pub fn process_context(song: &Song, sample_rate: f64) -> ProcessContext {
    // SAFETY: numbers, of which the state says which are meant.
    let mut context: ProcessContext = unsafe { std::mem::zeroed() };
    // The flags' type is the system's.
    context.state =
        (kPlaying | kTempoValid | kTimeSigValid | kProjectTimeMusicValid | kBarPositionValid)
            as u32;
    context.sampleRate = sample_rate;
    context.projectTimeSamples = (song.seconds * sample_rate).round() as i64;
    context.projectTimeMusic = song.beats();
    context.barPositionMusic = song.bar_beats();
    context.tempo = song.bpm();
    context.timeSigNumerator = int32::from(song.beats_per_bar);
    context.timeSigDenominator = 4;
    context
}

/// The same, standing.
pub fn stopped_context(song: &Song, sample_rate: f64) -> ProcessContext {
    let context = process_context(song, sample_rate);
    ProcessContext {
        state: context.state & !(kPlaying as u32),
        ..context
    }
}

/// A block without parameters.
pub fn block(
    frames: usize,
    inputs: &mut [AudioBusBuffers],
    outputs: &mut [AudioBusBuffers],
) -> ProcessData {
    let pointer = |buses: &mut [AudioBusBuffers]| match buses.is_empty() {
        true => null_mut(),
        false => buses.as_mut_ptr(),
    };
    ProcessData {
        processMode: kRealtime as int32,
        symbolicSampleSize: kSample32 as int32,
        numSamples: frames as int32,
        numInputs: inputs.len() as int32,
        numOutputs: outputs.len() as int32,
        inputs: pointer(inputs),
        outputs: pointer(outputs),
        inputParameterChanges: null_mut(),
        outputParameterChanges: null_mut(),
        inputEvents: null_mut(),
        outputEvents: null_mut(),
        processContext: null_mut(),
    }
}

/// A bus of these channel pointers; the slice must outlive its use.
pub fn bus(channels: &mut [*mut f32]) -> AudioBusBuffers {
    buffers(channels.as_mut_ptr(), channels.len())
}

/// A bus that says it has channels and points nowhere.
pub fn null_bus(count: usize) -> AudioBusBuffers {
    buffers(null_mut(), count)
}

/// Channels that must never be looked at.
pub fn poison() -> *mut f32 {
    with_exposed_provenance_mut(8)
}

fn buffers(channels: *mut *mut f32, count: usize) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: count as int32,
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels,
        },
    }
}
