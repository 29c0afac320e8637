//! The window on Windows, in a host's window: opened and closed while audio runs, several times.
//!
//! What it shows is not looked at: Wine draws OpenGL beside the screen, and on a screen without a compositor none of it can be
//! read back.

use crate::alone::alone;
use crate::library::{open, run};
use plumbline_hosting::{Instance, Session};
use std::ffi::c_void;
use std::ptr::{null, null_mut};
use std::thread::sleep;
use std::time::Duration;

/// How often it is opened.
const TIMES: usize = 5;
/// Turns while it is open, and after it is closed: 15 ms each, so that its timer draws many times.
const TURNS: [usize; 2] = [60, 5];

/// `WS_POPUP | WS_VISIBLE | WS_CLIPCHILDREN` of winuser.h.
const STYLE: u32 = 0x8000_0000 | 0x1000_0000 | 0x0200_0000;
/// `PM_REMOVE` of winuser.h.
const REMOVE: u32 = 1;
/// `GW_CHILD` of winuser.h.
const CHILD: u32 = 5;

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
    fn GetWindow(window: Handle, which: u32) -> Handle;
    fn GetClientRect(window: Handle, to: *mut [i32; 4]) -> i32;
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
    sleep(Duration::from_millis(15));
}

/// The size of the first window inside another one, pixels; none where there is none.
fn size_inside(host: Handle) -> Option<(u32, u32)> {
    // SAFETY: a window of ours; the system fills the rectangle.
    unsafe {
        let child = GetWindow(host, CHILD);
        let mut corners = [0; 4];
        let found = !child.is_null() && GetClientRect(child, &mut corners) != 0;
        found.then(|| (corners[2] as u32, corners[3] as u32))
    }
}

#[test]
fn it_opens_and_closes_while_audio_runs() {
    alone(
        "clap::win32_window::it_opens_and_closes_while_audio_runs",
        || {
            let mut instance = open(Session::default());
            for _ in 0..TIMES {
                let host = window((1600, 1100));
                if host.is_null() {
                    println!("skipped: no screen");
                    return;
                }
                // SAFETY: the host's window is there until the instance has gone.
                let size = unsafe { instance.open_editor(host) }.expect("it opens");
                (0..TURNS[0]).for_each(|_| turn(&mut instance));
                assert_eq!(size_inside(host), Some(size), "the editor's window");
                instance.close_editor();
                (0..TURNS[1]).for_each(|_| turn(&mut instance));
                assert_eq!(size_inside(host), None, "it is gone");
                // SAFETY: the editor in it is closed.
                unsafe { DestroyWindow(host) };
            }
        },
    );
}
