//! A window that is hidden and shown again is drawn, and goes on being drawn.

use super::vst3::Viewing;
use super::{Host, window};
use crate::hang::wait_until;
use crate::own_process::{in_own_process, settled};
use plumbline_hosting::{Instance, Screenshot, Window};
use std::thread::sleep;
use std::time::Duration;

/// Hidden for so long: not at all, shorter than a picture, and longer than the editor waits for one that does not come.
const HIDDEN: [u64; 3] = [0, 20, 1500];

/// Waits until the window shows what is wanted.
fn shown(window: &Window, wanted: &str, is_it: impl Fn(&Screenshot) -> bool) {
    let is_shown = || is_it(&window.screenshot().expect("a picture"));
    let pause = Duration::from_millis(10);
    assert!(wait_until(pause, is_shown), "not shown: {wanted}");
}

/// Hides and shows a window in which something is changed before, meanwhile and afterwards.
fn hide_and_show<H: Host>(hide: impl Fn(&mut H, &Window), show: impl Fn(&mut H, &Window)) {
    let window = window();
    let mut host = H::start(None);
    host.open(&window);
    for hidden in HIDDEN.map(Duration::from_millis) {
        let usual = settled(&window);
        host.set_output(-3.0);
        hide(&mut host, &window);
        sleep(hidden);
        host.set_output(-6.0);
        show(&mut host, &window);
        shown(&window, "the level", |now| now.is_drawn() && *now != usual);
        host.set_output(0.0);
        shown(&window, "what was there before", |now| *now == usual);
        println!("hidden for {hidden:?}: drawn, and drawn anew");
    }
    host.close();
}

fn unmap<H: Host>(_host: &mut H, window: &Window) {
    window.hide().expect("it goes");
}

fn map<H: Host>(_host: &mut H, window: &Window) {
    window.show().expect("it comes");
}

#[test]
fn clap_hides_the_editor() {
    in_own_process("shown::hidden::clap_hides_the_editor", || {
        hide_and_show::<Instance>(
            |instance, _| instance.hide_editor().expect("it goes"),
            |instance, _| instance.show_editor().expect("it comes"),
        );
    });
}

#[test]
fn clap_hides_its_own_window() {
    in_own_process("shown::hidden::clap_hides_its_own_window", || {
        hide_and_show::<Instance>(unmap, map);
    });
}

#[test]
fn vst3_hides_its_own_window() {
    in_own_process("shown::hidden::vst3_hides_its_own_window", || {
        hide_and_show::<Viewing>(unmap, map);
    });
}
