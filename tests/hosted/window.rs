//! The window in a host's window: opened and closed, drawn, and worked with the mouse.

use crate::hand::{OUTPUT, drag_output};
use crate::hang::HANG;
use crate::library::{open, release, run};
use crate::own_process::{in_own_process, memory_at_rest_kib, settled};
use crate::this_process::resources;
use plumbline_hosting::{Gesture, Instance, Layout, Session, Window};
use std::collections::BTreeMap;
use std::fs;
use std::thread::sleep;
use std::time::{Duration, Instant};

const SESSION: Session = Session {
    sample_rate: 48_000.0,
    max_block: 512,
    layout: Layout::StereoSpotMono,
    offline: false,
};

/// 10 ms of silence, so that both sides hear what is new.
fn block(instance: &mut Instance) {
    run(
        instance,
        &mut [vec![0.0; 480], vec![0.0; 480]],
        &[vec![0.0; 480]],
        || 480,
    );
}

fn window(left: i16) -> Window {
    Window::open("Plumbline", (left, 0)).expect("a window")
}

/// Threads and open files of this process by what they are, each with how many there are of it.
type Held = BTreeMap<String, usize>;

fn held() -> Held {
    let mut held = Held::new();
    let entries = |folder: &str| fs::read_dir(folder).expect("this process").flatten();
    // The number of a thread is not used again soon, and a socket's or a pipe's is in its name.
    for thread in entries("/proc/self/task") {
        let number = thread.file_name().to_string_lossy().into_owned();
        *held.entry(format!("thread {number}")).or_default() += 1;
    }
    for file in entries("/proc/self/fd") {
        let target = fs::read_link(file.path()).unwrap_or_default();
        *held
            .entry(format!("file {}", target.display()))
            .or_default() += 1;
    }
    held
}

/// What there is more of than before. Windows' threads end on their own, on a busy machine late: what goes within a minute
/// is not held. What is left over from before may go meanwhile, and does not make up for what is new.
fn held_since(before: &Held) -> Vec<String> {
    let begin = Instant::now();
    loop {
        let more = |(what, count): &(String, usize)| *count > *before.get(what).unwrap_or(&0);
        let new: Vec<_> = held().into_iter().filter(more).collect();
        if new.is_empty() || begin.elapsed() > HANG {
            return new.into_iter().map(|(what, _)| what).collect();
        }
        sleep(Duration::from_millis(50));
    }
}

/// Opens, resizes and closes the editor this often.
fn open_and_close(instance: &mut Instance, window: &Window, times: u32) {
    for time in 0..times {
        instance.open_editor(window).expect("it opens");
        block(instance);
        let size = (720 + 11 * (time % 98), 460 + 7 * (time % 105));
        assert_eq!(instance.resize_editor(window, size).expect("a size"), size);
        block(instance);
        instance.serve_editor(window).expect("it is attended to");
        instance.close_editor();
    }
}

#[test]
fn opened_resized_and_closed_100_times_it_leaks_nothing() {
    in_own_process(
        "window::opened_resized_and_closed_100_times_it_leaks_nothing",
        || {
            let mut instance = release().open(&SESSION).expect("a session");
            let window = window(0);
            let [threads, _] = resources();
            // The graphics library keeps what it made in the first rounds.
            open_and_close(&mut instance, &window, 300);
            let memory = memory_at_rest_kib(threads);
            let before = held();
            open_and_close(&mut instance, &window, 100);
            let new = held_since(&before);
            let after = memory_at_rest_kib(threads);
            println!("memory in KiB: {memory}, after 100 more: {after}");
            assert!(new.is_empty(), "{new:#?}");
            // The toolkit leaves 80 KiB of each window; a pixel buffer that stays every time would be 300 MB.
            assert!(after < memory + 20_000, "{memory} {after}");
        },
    );
}

#[test]
fn an_open_window_is_resized_100_times_and_draws_every_size() {
    in_own_process(
        "window::an_open_window_is_resized_100_times_and_draws_every_size",
        || {
            let mut instance = open(SESSION);
            let window = window(0);
            instance.open_editor(&window).expect("it opens");
            settled(&window);
            for time in 0..100_u32 {
                let size = (
                    720 + 1080 * (time * 37 % 101) / 100,
                    460 + 740 * (time * 59 % 101) / 100,
                );
                assert_eq!(instance.resize_editor(&window, size).expect("a size"), size);
                block(&mut instance);
                instance.serve_editor(&window).expect("it is attended to");
            }
            instance.resize_editor(&window, (720, 460)).expect("a size");
            let small = settled(&window);
            assert_eq!((small.width, small.height), (720, 460));
            instance.hide_editor().expect("it goes");
            instance.show_editor().expect("it comes");
            assert_eq!(settled(&window), small);
            assert_eq!(
                instance
                    .resize_editor(&window, (100, 5_000))
                    .expect("a size"),
                (720, 1_200)
            );
            instance.close_editor();
            instance.open_editor(&window).expect("it opens again");
            let size = settled(&window);
            assert_eq!((size.width, size.height), (720, 1_200), "its size is kept");
        },
    );
}

/// A drag of the output, and the events that the host has received.
fn dragged(instance: &mut Instance, window: &Window) -> Vec<Gesture> {
    drag_output(window, || {
        block(instance);
        instance.gestures()
    })
}

#[test]
fn a_drag_arrives_as_begin_values_and_end() {
    in_own_process("window::a_drag_arrives_as_begin_values_and_end", || {
        let mut instance = open(SESSION);
        let window = window(0);
        instance.open_editor(&window).expect("it opens");
        settled(&window);
        let events = dragged(&mut instance, &window);
        println!("{events:?}");
        let [Gesture::Begin(first), values @ .., Gesture::End(last)] = events.as_slice() else {
            panic!("{events:?}");
        };
        assert_eq!(first, last);
        assert!(values.len() >= 3, "{events:?}");
        let is_value = |said: &Gesture| matches!(said, Gesture::Value(id, _) if id == first);
        assert!(values.iter().all(is_value), "{events:?}");
        let output = instance.get("output").expect("a level");
        assert!(output > 0.5, "{output} dB");
    });
}

#[test]
fn two_windows_side_by_side_keep_to_themselves() {
    in_own_process(
        "window::two_windows_side_by_side_keep_to_themselves",
        || {
            let (mut left, mut right) = (open(SESSION), open(SESSION));
            let (left_window, right_window) = (window(0), window(1_900));
            left.open_editor(&left_window).expect("the left one opens");
            right
                .open_editor(&right_window)
                .expect("the right one opens");
            left_window.point_at(OUTPUT).expect("a pointer");
            let (before_left, before) = (settled(&left_window), settled(&right_window));
            let state = right.save().expect("a state");
            let events = dragged(&mut left, &left_window);
            block(&mut right);
            assert!(events.len() >= 5, "{events:?}");
            assert_eq!(right.gestures(), []);
            assert!(right.save().expect("a state") == state);
            assert!(
                settled(&right_window) == before,
                "the right picture changed"
            );
            assert!(settled(&left_window) != before_left);
            left.close_editor();
            dragged(&mut right, &right_window);
            assert!(
                settled(&right_window) != before,
                "the right one works on in_own_process"
            );
        },
    );
}

/// How soon is printed: 100 ms are wanted, which a machine that does something else besides does not keep.
#[test]
fn what_the_host_changes_is_on_the_screen() {
    in_own_process("window::what_the_host_changes_is_on_the_screen", || {
        let mut instance = release().open(&SESSION).expect("a session");
        let window = window(0);
        instance.open_editor(&window).expect("it opens");
        let mut delays: Vec<_> = (0..21)
            .map(|time| delay(&mut instance, &window, time))
            .collect();
        delays.sort();
        println!(
            "on the screen after {} ms (median), {} ms at most",
            delays[10], delays[20]
        );
    });
}

/// Milliseconds from a change by the host to another picture.
fn delay(instance: &mut Instance, window: &Window, time: u32) -> u128 {
    settled(window);
    let (corner, size) = ((OUTPUT.0 - 30, OUTPUT.1 - 10), (60, 20));
    let before = window.part(corner, size).expect("a picture");
    let begin = Instant::now();
    instance
        .set("output", f64::from(time % 2) - 3.0)
        .expect("a level");
    block(instance);
    while window.part(corner, size).expect("a picture") == before {
        assert!(begin.elapsed() < HANG, "nothing is shown");
        sleep(Duration::from_millis(2));
    }
    begin.elapsed().as_millis()
}
