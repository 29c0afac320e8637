//! The CLAP window while the parameters are automated, and hosts that destroy the plugin first.

use crate::clap::events::Event;
use crate::clap::traps::{BLOCK, infos, pass};
use crate::hand::take_hold;
use crate::hang::{abort_if_it_hangs, wait_until};
use crate::library::open;
use crate::own_process::{
    OPENINGS_COUNTED, assert_levels_off, in_own_process, memory_over, settled,
};
use clap_sys::ext::gui::{
    CLAP_EXT_GUI, CLAP_WINDOW_API_X11, clap_plugin_gui, clap_window, clap_window_handle,
};
use clap_sys::plugin::clap_plugin;
use plumbline_hosting::{Gesture, Instance, Session, Window};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::sleep;
use std::time::Duration;

/// The plugin for the audio thread.
struct Elsewhere(*const clap_plugin);

// SAFETY: CLAP has `process` called on a thread of its own; the plugin outlives that thread.
unsafe impl Send for Elsewhere {}

impl Elsewhere {
    /// Plays blocks in which every parameter moves, until told to stop; says how many.
    fn play(&self, stop: &AtomicBool) -> u64 {
        // SAFETY: the plugin is alive.
        let plugin = unsafe { &*self.0 };
        let infos = infos(plugin);
        let mut random = fastrand::Rng::with_seed(3);
        let mut blocks = 0;
        while !stop.load(Relaxed) {
            let event = |info: &clap_sys::ext::params::clap_param_info| {
                let value = random.f64() * info.max_value;
                Event::value(random.u32(0..BLOCK as u32), info.id, value)
            };
            let events: Vec<Event> = infos.iter().map(event).collect();
            let mut channels = [vec![0.0; BLOCK], vec![0.0; BLOCK]];
            pass(plugin, &mut channels, None, &events);
            // Faster than any host, and the main thread has its turn.
            sleep(Duration::from_micros(100));
            blocks += 1;
        }
        blocks
    }
}

/// Runs `main` on this thread while another one plays and automates every parameter.
fn automated(instance: &mut Instance, main: impl FnOnce(&mut Instance)) {
    let elsewhere = Elsewhere(instance.raw());
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let stop = &stop;
        let audio = scope.spawn(move || {
            let elsewhere = elsewhere;
            elsewhere.play(stop)
        });
        main(instance);
        stop.store(true, Relaxed);
        let blocks = audio.join().expect("the audio thread ends well");
        println!("{blocks} blocks");
    });
}

#[test]
fn opened_and_closed_under_automation() {
    in_own_process("clap::window::opened_and_closed_under_automation", || {
        let mut instances = [open(Session::default()), open(Session::default())];
        let window = Window::open("Plumbline", (0, 0)).expect("a window");
        let [one, other] = &mut instances;
        let mut memory = Vec::new();
        automated(other, |other| {
            automated(one, |one| {
                memory = memory_over(|| {
                    for instance in [&mut *one, &mut *other] {
                        for time in 0..OPENINGS_COUNTED {
                            instance.open_editor(&window).expect("it opens");
                            set_scale(instance.raw(), [1.0, 1.5, 2.0][time % 3]);
                            instance.serve_editor(&window).expect("it is served");
                            instance.close_editor();
                        }
                    }
                });
            });
        });
        assert_levels_off("two instances", &memory);
    });
}

/// The framework's or the guard's own answer to a window's scale.
pub fn set_scale(plugin: &clap_plugin, scale: f64) -> bool {
    // SAFETY: the instance's own functions, on the main thread.
    unsafe { gui(plugin).set_scale.unwrap()(plugin, scale) }
}

pub fn gui(plugin: &clap_plugin) -> &clap_plugin_gui {
    // SAFETY: the extension is the instance's, and static.
    unsafe {
        let gui = plugin.get_extension.unwrap()(plugin, CLAP_EXT_GUI.as_ptr());
        gui.cast::<clap_plugin_gui>().as_ref().expect("a window")
    }
}

fn size(plugin: &clap_plugin) -> (u32, u32) {
    let (mut width, mut height) = (0, 0);
    // SAFETY: the pointers are valid.
    let told = unsafe { gui(plugin).get_size.unwrap()(plugin, &mut width, &mut height) };
    assert!(told);
    (width, height)
}

/// Shows a created window inside another, which takes its size.
pub fn show(plugin: &clap_plugin, window: &Window) {
    window.resize(size(plugin)).expect("a size");
    let parent = clap_window {
        api: CLAP_WINDOW_API_X11.as_ptr(),
        specific: clap_window_handle {
            x11: window.id() as _,
        },
    };
    let gui = gui(plugin);
    // SAFETY: the instance's own functions, on the main thread; the parent is a window of this process.
    unsafe {
        assert!(gui.set_parent.unwrap()(plugin, &parent));
        gui.show.unwrap()(plugin);
    }
}

#[test]
fn a_scale_that_comes_before_the_window_counts() {
    in_own_process(
        "clap::window::a_scale_that_comes_before_the_window_counts",
        || {
            let instance = open(Session::default());
            let plugin = instance.raw();
            let gui = gui(plugin);
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            for scale in [1.0, 1.5, 1.25] {
                // SAFETY: the instance's own functions, on the main thread, in the order that CLAP asks for.
                unsafe {
                    assert!(gui.create.unwrap()(
                        plugin,
                        CLAP_WINDOW_API_X11.as_ptr(),
                        false
                    ));
                    assert!(set_scale(plugin, 1.0));
                    let (width, height) = size(plugin);
                    assert!(set_scale(plugin, scale), "{scale}");
                    assert!(!set_scale(plugin, f64::NAN));
                    let scaled = |side: u32| (f64::from(side) * scale).round() as u32;
                    let expected = (scaled(width), scaled(height));
                    assert_eq!(size(plugin), expected, "{scale}, before");
                    show(plugin, &window);
                    settled(&window);
                    assert_eq!(size(plugin), expected, "{scale}, open");
                    gui.destroy.unwrap()(plugin);
                }
            }
        },
    );
}

/// What the host hears with one block of silence.
fn gestures(instance: &mut Instance) -> Vec<Gesture> {
    let (mut first, mut second) = ([0.0; BLOCK], [0.0; BLOCK]);
    let spot = vec![[0.0; BLOCK]; instance.session().layout.channels().1];
    let spot: Vec<&[f32]> = spot.iter().map(|c| &c[..]).collect();
    instance
        .process(&mut [&mut first, &mut second], &spot)
        .expect("a block");
    instance.gestures()
}

#[test]
fn a_window_that_is_closed_in_the_middle_of_a_drag_lets_go() {
    in_own_process(
        "clap::window::a_window_that_is_closed_in_the_middle_of_a_drag_lets_go",
        || {
            let mut instance = open(Session::default());
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            instance.open_editor(&window).expect("it opens");
            settled(&window);
            let mut heard = Vec::new();
            take_hold(&window, 1.0, |time| {
                std::thread::sleep(time);
                heard.append(&mut gestures(&mut instance));
                matches!(heard.last(), Some(Gesture::Begin(_) | Gesture::Value(..)))
            });
            instance.close_editor();
            window.let_go().expect("a hand");
            heard.append(&mut gestures(&mut instance));
            assert!(
                matches!(heard.first(), Some(Gesture::Begin(_))),
                "{heard:?}"
            );
            assert!(matches!(heard.last(), Some(Gesture::End(_))), "{heard:?}");
        },
    );
}

#[test]
fn a_host_that_destroys_the_plugin_with_its_window_open_is_forgiven() {
    in_own_process(
        "clap::window::a_host_that_destroys_the_plugin_with_its_window_open_is_forgiven",
        || {
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            for _ in 0..30 {
                let mut instance = open(Session::default());
                instance.open_editor(&window).expect("it opens");
                instance.forget_editor();
                drop(instance);
            }
        },
    );
}

#[test]
fn a_host_whose_window_has_gone_hears_that_the_editor_has() {
    in_own_process(
        "clap::window::a_host_whose_window_has_gone_hears_that_the_editor_has",
        || {
            let mut instance = open(Session::default());
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            instance.open_editor(&window).expect("it opens");
            settled(&window);
            assert!(!instance.editor_has_gone());
            drop(window);
            instance.set("output", -3.0).expect("a level");
            instance.restart().expect("it starts again");
            let has_gone = wait_until(Duration::from_millis(10), || instance.editor_has_gone());
            assert!(has_gone, "it is still open");
            instance.close_editor();
        },
    );
}

#[test]
fn a_host_that_only_asks_for_the_size_is_not_held_up() {
    in_own_process(
        "clap::window::a_host_that_only_asks_for_the_size_is_not_held_up",
        || {
            abort_if_it_hangs();
            let instance = open(Session::default());
            let gui = gui(instance.raw());
            for _ in 0..30 {
                // SAFETY: the instance's own functions, on the main thread.
                unsafe {
                    assert!(gui.create.unwrap()(
                        instance.raw(),
                        CLAP_WINDOW_API_X11.as_ptr(),
                        false
                    ));
                    assert_eq!(size(instance.raw()), (1080, 680));
                    gui.destroy.unwrap()(instance.raw());
                }
            }
        },
    );
}

#[test]
fn a_host_that_takes_its_time_before_it_shows_the_window_sees_it_drawn() {
    in_own_process(
        "clap::window::a_host_that_takes_its_time_before_it_shows_the_window_sees_it_drawn",
        || {
            for wait in [0, 100, 1000].map(Duration::from_millis) {
                let instance = open(Session::default());
                let gui = gui(instance.raw());
                let window = Window::open("Plumbline", (0, 0)).expect("a window");
                // SAFETY: the instance's own functions, on the main thread, in the order that CLAP asks for.
                unsafe {
                    assert!(gui.create.unwrap()(
                        instance.raw(),
                        CLAP_WINDOW_API_X11.as_ptr(),
                        false
                    ));
                    sleep(wait);
                    show(instance.raw(), &window);
                    settled(&window);
                    println!("{wait:?} before it is shown: drawn");
                    gui.destroy.unwrap()(instance.raw());
                }
            }
        },
    );
}
