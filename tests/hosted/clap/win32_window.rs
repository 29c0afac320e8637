//! The window on Windows, in a host's window: opened, drawn and closed while audio runs, several times.

use crate::alone::alone;
use crate::library::{open, run};
use plumbline_hosting::{Instance, Session};
use std::ffi::c_void;
use std::ptr::{null, null_mut};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How often it is opened.
const TIMES: usize = 5;
/// The longest that the first picture may take; a software renderer on a busy machine is slow.
const PATIENCE: Duration = Duration::from_secs(30);
/// Different colours on a grid of [`GRID`] by [`GRID`] points that make a picture. One colour is an empty window.
const COLOURS: usize = 4;
const GRID: i32 = 60;

/// `WS_POPUP | WS_VISIBLE | WS_CLIPCHILDREN` of winuser.h.
const STYLE: u32 = 0x8000_0000 | 0x1000_0000 | 0x0200_0000;
/// `PM_REMOVE` of winuser.h.
const REMOVE: u32 = 1;

type Handle = *mut c_void;

/// `MSG` of winuser.h.
#[repr(C)]
struct Message {
    window: Handle,
    kind: u32,
    words: [usize; 2],
    time: u32,
    place: [i32; 2],
}

#[link(name = "user32")]
unsafe extern "system" {
    fn CreateWindowExW(
        extended: u32,
        class: *const u16,
        title: *const u16,
        style: u32,
        x: i32,
        y: i32,
        width: i32,
        height: i32,
        parent: Handle,
        menu: Handle,
        program: Handle,
        data: Handle,
    ) -> Handle;
    fn DestroyWindow(window: Handle) -> i32;
    fn PeekMessageW(to: *mut Message, window: Handle, from: u32, last: u32, remove: u32) -> i32;
    fn TranslateMessage(message: *const Message) -> i32;
    fn DispatchMessageW(message: *const Message) -> isize;
    fn GetDC(window: Handle) -> Handle;
    fn ReleaseDC(window: Handle, context: Handle) -> i32;
}

#[link(name = "gdi32")]
unsafe extern "system" {
    fn GetPixel(context: Handle, x: i32, y: i32) -> u32;
}

/// A window with nothing of its own in it, as large as this at the screen's corner; null where there is no screen.
fn window((width, height): (u32, u32)) -> Handle {
    let class: Vec<u16> = "Static\0".encode_utf16().collect();
    // SAFETY: strings with their ends; the class is the system's.
    unsafe {
        CreateWindowExW(
            0,
            class.as_ptr(),
            null(),
            STYLE,
            0,
            0,
            width as i32,
            height as i32,
            null_mut(),
            null_mut(),
            null_mut(),
            null_mut(),
        )
    }
}

/// Delivers what waits for the windows of this thread, and plays 10 ms.
fn turn(instance: &mut Instance) {
    // SAFETY: plain data that the system fills.
    unsafe {
        let mut message: Message = std::mem::zeroed();
        while PeekMessageW(&mut message, null_mut(), 0, 0, REMOVE) != 0 {
            TranslateMessage(&message);
            DispatchMessageW(&message);
        }
    }
    run(
        instance,
        &mut [vec![0.0; 480], vec![0.0; 480]],
        &[vec![0.0; 480], vec![0.0; 480]],
        || 480,
    );
    sleep(Duration::from_millis(5));
}

/// Different colours that the screen shows there.
fn colours((width, height): (u32, u32)) -> usize {
    // SAFETY: the screen's own context, given back.
    let mut seen = unsafe {
        let context = GetDC(null_mut());
        let points = (0..GRID * GRID).map(|n| {
            let (x, y) = (
                n % GRID * width as i32 / GRID,
                n / GRID * height as i32 / GRID,
            );
            GetPixel(context, x, y)
        });
        let seen: Vec<u32> = points.collect();
        ReleaseDC(null_mut(), context);
        seen
    };
    seen.sort_unstable();
    seen.dedup();
    seen.len()
}

#[test]
fn it_opens_draws_and_closes_while_audio_runs() {
    alone(
        "clap::win32_window::it_opens_draws_and_closes_while_audio_runs",
        || {
            let mut instance = open(Session::default());
            for time in 0..TIMES {
                let host = window((1600, 1100));
                if host.is_null() {
                    println!("skipped: no screen");
                    return;
                }
                let empty = colours((1600, 1100));
                let size = instance.open_editor(host).expect("it opens");
                let begin = Instant::now();
                while colours(size) < COLOURS {
                    assert!(begin.elapsed() < PATIENCE, "nothing is drawn");
                    turn(&mut instance);
                }
                println!(
                    "opening {time}: {size:?}, {} colours after {:?}, {empty} before",
                    colours(size),
                    begin.elapsed()
                );
                (0..20).for_each(|_| turn(&mut instance));
                instance.close_editor();
                (0..5).for_each(|_| turn(&mut instance));
                // SAFETY: the editor in it is closed.
                unsafe { DestroyWindow(host) };
            }
        },
    );
}
