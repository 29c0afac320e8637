//! The CLAP window at scales of the host's: its picture, its smallest size, and the hand.

use super::window::{gui, set_scale, size};
use crate::library::open;
use crate::own_process::{in_own_process, settled};
use crate::scaled::{check, drag};
use clap_sys::ext::gui::{CLAP_WINDOW_API_X11, clap_window, clap_window_handle};
use clap_sys::plugin::clap_plugin;
use plumbline_hosting::{Gesture, Instance, Screenshot, Session, Window, parameter_number};
use std::thread::sleep;
use std::time::Duration;

/// Opens the window at a scale, in the order that CLAP asks for.
fn open_at(plugin: &clap_plugin, window: &Window, scale: f64) -> Screenshot {
    let gui = gui(plugin);
    // SAFETY: the instance's own functions, on the main thread.
    unsafe {
        assert!(gui.create.unwrap()(
            plugin,
            CLAP_WINDOW_API_X11.as_ptr(),
            false
        ));
        assert!(set_scale(plugin, scale));
        window.resize(size(plugin)).expect("a size");
        let parent = clap_window {
            api: CLAP_WINDOW_API_X11.as_ptr(),
            specific: clap_window_handle {
                x11: window.id() as _,
            },
        };
        assert!(gui.set_parent.unwrap()(plugin, &parent));
        gui.show.unwrap()(plugin);
    }
    settled(window)
}

/// A drag of the output at this scale; what the output is then, dB.
fn dragged(instance: &mut Instance, window: &Window, scale: f64) -> f64 {
    let [from, to] = drag(scale);
    window.drag(from, to).expect("a drag");
    sleep(Duration::from_millis(300));
    let (mut first, mut second, spot) = ([0.0; 480], [0.0; 480], [0.0; 480]);
    let main = &mut [&mut first[..], &mut second[..]];
    instance.process(main, &[&spot, &spot]).expect("a block");
    let heard = instance.gestures();
    let output = parameter_number("output");
    assert_eq!(heard.first(), Some(&Gesture::Begin(output)), "{scale}");
    assert_eq!(heard.last(), Some(&Gesture::End(output)), "{scale}");
    instance.get("output").expect("a level")
}

#[test]
fn the_picture_and_the_hand_follow_the_scale() {
    in_own_process(
        "clap::scale::the_picture_and_the_hand_follow_the_scale",
        || {
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            let mut usual = None;
            for scale in [1.0, 2.0, 1.5] {
                let mut instance = open(Session::default());
                let picture = open_at(instance.raw(), &window, scale);
                let output = dragged(&mut instance, &window, scale);
                // The smallest window is so many points, whatever the scale.
                let (mut width, mut height) = (1, 1);
                let gui = gui(instance.raw());
                // SAFETY: the pointers are valid.
                unsafe {
                    let adjust = gui.adjust_size.unwrap();
                    assert!(adjust(instance.raw(), &mut width, &mut height));
                    gui.destroy.unwrap()(instance.raw());
                }
                assert_eq!(
                    (width, height),
                    ((720.0 * scale) as u32, (460.0 * scale) as u32)
                );
                let (small, level) = usual.get_or_insert((picture.clone(), output));
                if scale != 1.0 {
                    check(small, &picture, scale);
                }
                assert!((output - *level).abs() < 0.3, "{output} dB, not {level}");
            }
        },
    );
}
