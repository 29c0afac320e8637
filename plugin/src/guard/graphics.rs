//! Linux: the graphics library stays in memory once a window has been opened.
//!
//! The window toolkit unloads it with the last window, while the thread of that window is still ending: the library's own
//! work for an ending thread is then no longer there to be called, and the host crashes. Seen once in about 500 closings.

use std::ffi::{c_char, c_int, c_void};
use std::sync::Once;

/// From `dlfcn.h`.
const RTLD_NOW: c_int = 2;
const RTLD_NODELETE: c_int = 0x1000;

unsafe extern "C" {
    fn dlopen(name: *const c_char, flags: c_int) -> *mut c_void;
}

/// Before a window is opened.
pub fn keep_loaded() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // SAFETY: a C string; where there is no such library the window will say so.
        unsafe { dlopen(c"libEGL.so.1".as_ptr(), RTLD_NOW | RTLD_NODELETE) };
    });
}
