//! The CLAP window at scales of the host's: its picture, its smallest size, and the hand.

use super::window::{gui, set_scale, show};
use crate::hand::take_hold;
use crate::library::open;
use crate::own_process::{in_own_process, settled};
use crate::scaled::check;
use clap_sys::ext::gui::CLAP_WINDOW_API_X11;
use clap_sys::plugin::clap_plugin;
use plumbline_hosting::{Gesture, Screenshot, Session, Window, parameter_number};
use std::thread::sleep;

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
    }
    show(plugin, window);
    settled(window)
}

#[test]
fn the_picture_and_the_hand_follow_the_scale() {
    in_own_process(
        "clap::scale::the_picture_and_the_hand_follow_the_scale",
        || {
            let mut usual = None;
            for scale in [1.0, 2.0, 1.5] {
                let window = Window::open("Plumbline", (0, 0)).expect("a window");
                let mut instance = open(Session::default());
                let picture = open_at(instance.raw(), &window, scale);
                check(usual.get_or_insert(picture), &window, scale);
                take_hold(&window, scale, |time| {
                    sleep(time);
                    let (mut first, mut second, spot) = ([0.0; 480], [0.0; 480], [0.0; 480]);
                    let main = &mut [&mut first[..], &mut second[..]];
                    instance.process(main, &[&spot, &spot]).expect("a block");
                    let output = Gesture::Begin(parameter_number("output"));
                    instance.gestures().first() == Some(&output)
                });
                window.let_go().expect("a hand");
                // The smallest window is so many points, whatever the scale.
                let (mut width, mut height) = (1, 1);
                let gui = gui(instance.raw());
                // SAFETY: the pointers are valid.
                unsafe {
                    let adjust = gui.adjust_size.unwrap();
                    assert!(adjust(instance.raw(), &mut width, &mut height));
                    gui.destroy.unwrap()(instance.raw());
                }
                let wanted = ((720.0 * scale) as u32, (460.0 * scale) as u32);
                assert_eq!((width, height), wanted);
            }
        },
    );
}
