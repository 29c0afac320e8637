//! The VST3 window while the parameters are automated: opened and closed again and again, with a run loop and without.

use crate::buffers::pointers::{Audio, BLOCK};
use crate::hand::take_hold;
use crate::own_process::{
    OPENINGS_COUNTED, assert_levels_off, in_own_process, memory_over, settled,
};
use crate::vst3::frame::{BareFrame, Frame};
use crate::vst3::host::{Render, Vst3, block, bus};
use crate::vst3::objects::{Changes, Points, Said, number};
use plumbline_hosting::Window;
use std::ffi::c_void;
use std::fs;
use std::ptr::{null_mut, with_exposed_provenance_mut};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::thread::{self, sleep};
use std::time::{Duration, Instant};
use vst3::Steinberg::Vst::{
    IAudioProcessor, IAudioProcessorTrait, IEditControllerTrait, IParameterChanges,
};
use vst3::Steinberg::{
    IPlugFrame, IPlugView, IPlugViewContentScaleSupport, IPlugViewContentScaleSupportTrait,
    IPlugViewTrait, ViewRect, kPlatformTypeX11EmbedWindowID, kResultOk,
};
use vst3::{ComPtr, ComWrapper};

/// The part of an instance that belongs to the audio thread.
struct Playing {
    processor: ComPtr<IAudioProcessor>,
    parameters: Vec<u32>,
}

// SAFETY: VST3 has `process` called on a thread of its own; the processor outlives that thread.
unsafe impl Send for Playing {}

impl Playing {
    /// Plays blocks of silence in which every parameter moves, until told to stop; says how many.
    fn play(&self, stop: &AtomicBool, blocks: &AtomicU64) {
        let mut audio = Audio::silence();
        let (mut input, mut output) = (audio.inputs(), audio.outputs());
        let mut random = fastrand::Rng::with_seed(1);
        while !stop.load(Relaxed) {
            let points = self.parameters.iter().map(|&id| {
                let point = (random.i32(0..BLOCK as i32), random.f64());
                Points {
                    id,
                    points: vec![point],
                }
            });
            let changes = ComWrapper::new(Changes::of(points.collect()));
            let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
            let (mut inputs, mut outputs) = ([bus(&mut input)], [bus(&mut output)]);
            let mut block = block(BLOCK, &mut inputs, &mut outputs);
            block.inputParameterChanges = changes.as_ptr();
            // SAFETY: the buffers are as long as they say.
            assert_eq!(unsafe { self.processor.process(&mut block) }, kResultOk);
            blocks.fetch_add(1, Relaxed);
            // Faster than any host, and the main thread has its turn.
            sleep(Duration::from_micros(100));
        }
    }
}

/// A view of the instance in a frame.
pub fn view(plugin: &Vst3, frame: *mut IPlugFrame) -> ComPtr<IPlugView> {
    // SAFETY: the pointers are valid.
    unsafe {
        let view = plugin.controller.createView(c"editor".as_ptr());
        let view = ComPtr::from_raw(view).expect("it has a view");
        assert_eq!(view.setFrame(frame), kResultOk);
        view
    }
}

/// Opens the instance's window inside another, which takes its size.
pub fn open(plugin: &Vst3, frame: &ComWrapper<Frame>, window: &Window) -> ComPtr<IPlugView> {
    let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
    let view = view(plugin, pointer.as_ptr());
    fit(&view, window);
    attach(&view, window);
    view
}

/// Puts the view into a window.
pub fn attach(view: &ComPtr<IPlugView>, window: &Window) {
    let parent: *mut c_void = with_exposed_provenance_mut(window.id() as usize);
    // SAFETY: the window is there.
    let result = unsafe { view.attached(parent, kPlatformTypeX11EmbedWindowID) };
    assert_eq!(result, kResultOk);
}

/// Gives the window the view's size.
pub fn fit(view: &ComPtr<IPlugView>, window: &Window) {
    let mut size = ViewRect {
        left: 0,
        top: 0,
        right: 0,
        bottom: 0,
    };
    // SAFETY: the pointer is valid.
    unsafe { view.getSize(&mut size) };
    let sides = (size.right as u32, size.bottom as u32);
    window.resize(sides).expect("a size");
}

pub fn detach(view: &ComPtr<IPlugView>) {
    // SAFETY: the view is attached.
    unsafe {
        assert_eq!(view.removed(), kResultOk);
        assert_eq!(view.setFrame(null_mut()), kResultOk);
    }
}

/// Runs `main` on this thread while another one plays and automates every parameter.
fn automated(plugin: &Vst3, main: impl FnOnce()) {
    let playing = Playing {
        processor: plugin.processor.clone(),
        parameters: plugin.parameters(),
    };
    let (stop, blocks) = (AtomicBool::new(false), AtomicU64::new(0));
    std::thread::scope(|scope| {
        let (stop, blocks) = (&stop, &blocks);
        let audio = scope.spawn(move || {
            let playing = playing;
            playing.play(stop, blocks);
        });
        main();
        stop.store(true, Relaxed);
        audio.join().expect("the audio thread ends well");
    });
    println!("{} blocks", blocks.load(Relaxed));
}

/// Opens and closes the window, with a pause while it is open; its scale changes meanwhile.
fn open_and_close(plugin: &Vst3, frame: *mut IPlugFrame, window: &Window, pause: &dyn Fn()) {
    for time in 0..OPENINGS_COUNTED {
        let view = view(plugin, frame);
        let scaled = view.cast::<IPlugViewContentScaleSupport>().expect("scales");
        let factor = [1.0, 1.5, 2.0][time % 3];
        // SAFETY: plain data.
        unsafe { scaled.setContentScaleFactor(factor) };
        attach(&view, window);
        pause();
        // SAFETY: plain data.
        unsafe { scaled.setContentScaleFactor(1.0) };
        detach(&view);
    }
}

#[test]
fn opened_and_closed_under_automation() {
    in_own_process("vst3::window::opened_and_closed_under_automation", || {
        let with_run_loop = ComWrapper::new(Frame::default());
        let bare = ComWrapper::new(BareFrame::default());
        let pointers = [
            with_run_loop.to_com_ptr::<IPlugFrame>().unwrap(),
            bare.to_com_ptr::<IPlugFrame>().unwrap(),
        ];
        let plugins = [Vst3::new(), Vst3::new()];
        let window = Window::open("Plumbline", (0, 0)).expect("a window");
        for plugin in &plugins {
            plugin.start(Render::Realtime);
        }
        let mut memory = Vec::new();
        automated(&plugins[1], || {
            automated(&plugins[0], || {
                memory = memory_over(|| {
                    let pause = || sleep(Duration::from_millis(1));
                    let turn = || with_run_loop.turn();
                    open_and_close(&plugins[0], pointers[0].as_ptr(), &window, &turn);
                    open_and_close(&plugins[1], pointers[1].as_ptr(), &window, &pause);
                });
            });
        });
        assert_eq!(with_run_loop.registered(), 0, "handlers left");
        assert_levels_off("with a run loop and without", &memory);
    });
}

/// Open files of this process.
fn descriptors() -> usize {
    fs::read_dir("/proc/self/fd").expect("open files").count()
}

#[test]
fn frames_given_and_taken_10_000_times_leave_no_descriptor() {
    let plugin = Vst3::new();
    let frame = ComWrapper::new(Frame::default());
    let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
    let before = descriptors();
    for _ in 0..10_000 {
        let view = view(&plugin, pointer.as_ptr());
        // SAFETY: plain data.
        unsafe { view.setFrame(null_mut()) };
    }
    assert_eq!(frame.registered(), 0, "handlers left");
    // Other tests of this process open and close files meanwhile.
    let after = descriptors();
    assert!(after < before + 100, "{before} descriptors, then {after}");
}

#[test]
fn a_host_that_forgets_to_remove_the_view_or_destroys_the_plugin_first_is_forgiven() {
    in_own_process(
        "vst3::window::a_host_that_forgets_to_remove_the_view_or_destroys_the_plugin_first_is_forgiven",
        || {
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            let frame = ComWrapper::new(Frame::default());
            let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
            for time in 0..50 {
                let plugin = Vst3::new();
                plugin.start(Render::Realtime);
                let view = view(&plugin, pointer.as_ptr());
                attach(&view, &window);
                frame.turn();
                if time % 2 == 0 {
                    drop(view);
                } else {
                    drop(plugin);
                    frame.turn();
                    detach(&view);
                }
            }
            assert_eq!(frame.registered(), 0, "handlers left");
        },
    );
}

/// Turns the run loop for a while.
pub fn turn(frame: &Frame, time: Duration) {
    let begin = Instant::now();
    while begin.elapsed() < time {
        frame.turn();
        sleep(Duration::from_millis(2));
    }
}

/// The hand has taken hold of a control, for all that the host has heard.
fn is_held(plugin: &Vst3) -> bool {
    let heard = plugin.restart.1.lock().unwrap();
    let count = |of: fn(&Said) -> bool| heard.iter().filter(|heard| of(&heard.said)).count();
    count(|said| matches!(said, Said::Begin(_))) > count(|said| matches!(said, Said::End(_)))
}

#[test]
fn gestures_and_latencies_come_on_the_main_thread_and_a_closing_window_ends_them() {
    in_own_process(
        "vst3::window::gestures_and_latencies_come_on_the_main_thread_and_a_closing_window_ends_them",
        || {
            let plugin = Vst3::new();
            plugin.start(Render::Realtime);
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            let frame = ComWrapper::new(Frame::default());
            let view = open(&plugin, &frame, &window);
            settled(&window);
            take_hold(&window, 1.0, |time| {
                turn(&frame, time);
                is_held(&plugin)
            });
            automated(&plugin, || turn(&frame, Duration::from_secs(2)));
            detach(&view);
            window.let_go().expect("a hand");
            let heard = plugin.restart.1.lock().unwrap().clone();
            let here = thread::current().id();
            assert!(heard.iter().all(|heard| heard.thread == here), "{heard:?}");
            let said: Vec<Said> = heard.iter().map(|heard| heard.said).collect();
            let id = number("output");
            assert!(said.contains(&Said::Begin(id)), "{said:?}");
            assert!(said.iter().any(|said| matches!(said, Said::Value(..))));
            assert!(said.iter().any(|said| matches!(said, Said::Restart(_))));
            let last = said.iter().rposition(|said| matches!(said, Said::Begin(_)));
            assert!(said[last.unwrap()..].contains(&Said::End(id)), "{said:?}");
        },
    );
}

#[test]
fn a_scale_that_comes_before_the_window_counts() {
    let plugin = Vst3::new();
    let frame = ComWrapper::new(BareFrame::default());
    let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
    let view = view(&plugin, pointer.as_ptr());
    let size = || {
        // SAFETY: the pointer is valid.
        unsafe {
            let mut size: ViewRect = std::mem::zeroed();
            assert_eq!(view.getSize(&mut size), kResultOk);
            (size.right, size.bottom)
        }
    };
    let (width, height) = size();
    let scaled = view.cast::<IPlugViewContentScaleSupport>().expect("scales");
    // SAFETY: plain data.
    assert_eq!(unsafe { scaled.setContentScaleFactor(2.0) }, kResultOk);
    assert_eq!(size(), (2 * width, 2 * height));
    // SAFETY: plain data.
    assert_ne!(unsafe { scaled.setContentScaleFactor(f32::NAN) }, kResultOk);
}
