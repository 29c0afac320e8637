//! The View's zoom at 300 % and a host that resizes: limits in points, one picture whatever its size, kept when closed.

use super::{Host, in_both_formats, left, window};
use crate::hang::wait_until;
use crate::own_process::settled;
use crate::scaled::check;
use plumbline_hosting::{Screenshot, Window};
use std::time::Duration;

/// The largest of the menu.
const ZOOM: u32 = 3;
/// Sizes in points that fit the screen at that zoom.
const SIZES: [(u32, u32); 2] = [(720, 460), (1080, 680)];
/// Where View is in a window of 1080 by 680 points, its last line, and a place with nothing under it, pixels.
const VIEW: (i16, i16) = (895, 27);
const LARGEST: (i16, i16) = (935, 285);
const NOWHERE: (i16, i16) = (2, 2);

fn times((width, height): (u32, u32), zoom: u32) -> (u32, u32) {
    (width * zoom, height * zoom)
}

/// What the window shows at 100 % in these sizes.
fn usual<H: Host>() -> [Screenshot; 2] {
    SIZES.map(|size| {
        let window = window();
        let mut host = H::start(Some(&left::<H>(size, 1.0)));
        host.open(&window);
        let picture = settled(&window);
        assert_eq!((picture.width, picture.height), size);
        host.close();
        picture
    })
}

/// The host resizes; the pictures are those of 100 %, three times as large.
fn resized<H: Host>(host: &mut H, window: &Window, usual: &[Screenshot; 2]) {
    for (picture, size) in usual.iter().zip(SIZES) {
        let wanted = times(size, ZOOM);
        assert_eq!(host.resize(window, wanted), wanted);
        check(picture, window, f64::from(ZOOM));
    }
    // What fits at 100 % is too small here, and what is too large there fits here.
    assert_eq!(host.resize(window, (1800, 1200)), times(SIZES[0], ZOOM));
    assert_eq!(host.resize(window, (9000, 9000)), (5400, 3600));
    let last = times(SIZES[1], ZOOM);
    assert_eq!(host.resize(window, last), last);
    check(&usual[1], window, f64::from(ZOOM));
}

/// Waits until the editor has asked for a size and the window has taken it.
fn grown<H: Host>(host: &mut H, window: &Window, wanted: (u32, u32)) {
    let is_grown = wait_until(Duration::from_millis(10), || {
        host.serve(window);
        let picture = window.screenshot().expect("a picture");
        (picture.width, picture.height) == wanted
    });
    assert!(is_grown, "{wanted:?} wanted");
}

/// Zoom and size are the session's: they are there when the window is opened again, and in another instance.
fn reopened<H: Host>(host: &mut H, window: &Window, usual: &Screenshot) {
    for _ in 0..2 {
        host.close();
        window.resize((64, 64)).expect("a size");
        host.open(window);
        check(usual, window, f64::from(ZOOM));
    }
    let mut other = H::start(Some(&host.save()));
    host.close();
    other.open(window);
    check(usual, window, f64::from(ZOOM));
    other.close();
}

/// The largest zoom out of the session.
fn saved<H: Host>() {
    let usual = usual::<H>();
    let window = window();
    let mut host = H::start(Some(&left::<H>(SIZES[1], ZOOM as f32)));
    host.open(&window);
    check(&usual[1], &window, f64::from(ZOOM));
    resized(&mut host, &window, &usual);
    reopened(&mut host, &window, &usual[1]);
}

/// The largest zoom out of the menu.
fn chosen<H: Host>() {
    let usual = usual::<H>();
    let window = window();
    let mut host = H::start(None);
    host.open(&window);
    settled(&window);
    window.click(VIEW).expect("a click");
    settled(&window);
    window.click(LARGEST).expect("a click");
    grown(&mut host, &window, times(SIZES[1], ZOOM));
    // The pointer lights what it is on.
    window.point_at(NOWHERE).expect("a pointer");
    check(&usual[1], &window, f64::from(ZOOM));
    resized(&mut host, &window, &usual);
    reopened(&mut host, &window, &usual[1]);
}

/// A host that has a size of its own for the window, and says so before anything has been drawn.
fn sized_at_once<H: Host>() {
    let usual = usual::<H>();
    let window = window();
    let mut host = H::start(Some(&left::<H>(SIZES[0], ZOOM as f32)));
    host.open(&window);
    let wanted = times(SIZES[1], ZOOM);
    assert_eq!(host.resize(&window, wanted), wanted);
    check(&usual[1], &window, f64::from(ZOOM));
    reopened(&mut host, &window, &usual[1]);
}

in_both_formats! { "shown::zoom::";
    saved: clap_out_of_the_session, vst3_out_of_the_session;
    chosen: clap_out_of_the_menu, vst3_out_of_the_menu;
    sized_at_once: clap_sized_before_the_first_picture, vst3_sized_before_the_first_picture;
}
