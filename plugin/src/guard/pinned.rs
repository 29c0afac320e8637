//! Libraries that stay in memory whatever the host unloads: threads of theirs may still be ending then.

use std::ffi::c_void;
use std::sync::Once;

/// The plugin's own library, from its first instance on. A host that only looks for plugins may unload it.
pub fn pin_library() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| system::pin((&raw const ONCE).cast()));
}

#[cfg(unix)]
mod system {
    use super::c_void;
    use std::ffi::{CStr, c_char, c_int};
    use std::mem::zeroed;

    /// From `dlfcn.h`, the same on Linux, the BSDs and macOS.
    const RTLD_NOW: c_int = 2;
    #[cfg(target_os = "macos")]
    const RTLD_NODELETE: c_int = 0x80;
    #[cfg(not(target_os = "macos"))]
    const RTLD_NODELETE: c_int = 0x1000;

    /// From `dlfcn.h`: where an address lies.
    #[repr(C)]
    struct DlInfo {
        file: *const c_char,
        base: *mut c_void,
        symbol: *const c_char,
        symbol_address: *mut c_void,
    }

    unsafe extern "C" {
        fn dlopen(name: *const c_char, flags: c_int) -> *mut c_void;
        fn dladdr(address: *const c_void, info: *mut DlInfo) -> c_int;
    }

    /// Keeps the library that an address lies in.
    pub fn pin(address: *const c_void) {
        // SAFETY: plain data, written by the call.
        let mut info: DlInfo = unsafe { zeroed() };
        // SAFETY: an address of this library; the name is the system's as long as the library is loaded.
        unsafe {
            if dladdr(address, &mut info) != 0 && !info.file.is_null() {
                keep(CStr::from_ptr(info.file));
            }
        }
    }

    /// Keeps a library that is loaded or can be; nothing happens where there is none of this name.
    pub fn keep(name: &CStr) {
        // SAFETY: a C string.
        unsafe { dlopen(name.as_ptr(), RTLD_NOW | RTLD_NODELETE) };
    }
}

#[cfg(windows)]
mod system {
    use super::c_void;
    use std::ptr::null_mut;

    /// From `libloaderapi.h`: until the process ends.
    const FLAG_PIN: u32 = 1;
    /// From `libloaderapi.h`: the name is an address in the module.
    const FLAG_FROM_ADDRESS: u32 = 4;

    #[link(name = "kernel32")]
    unsafe extern "system" {
        fn GetModuleHandleExW(flags: u32, name: *const c_void, module: *mut *mut c_void) -> i32;
    }

    /// Keeps the library that an address lies in.
    pub fn pin(address: *const c_void) {
        let mut module = null_mut();
        // SAFETY: an address of this library.
        unsafe { GetModuleHandleExW(FLAG_PIN | FLAG_FROM_ADDRESS, address, &mut module) };
    }
}

/// Linux: the graphics library, before a window is opened. The window toolkit unloads it with the last window, while the
/// thread of that window is still ending: the library's own work for an ending thread is then no longer there to be
/// called, and the host crashes. Seen once in about 500 closings.
#[cfg(all(feature = "editor", target_os = "linux"))]
pub fn pin_graphics() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| system::keep(c"libEGL.so.1"));
}
