//! Keeps the library in memory once a window was open: the toolkit's thread may outlive the window by a moment.
//!
//! On Linux the linker's flag `nodelete` does so from the start: see `build.rs`.

/// From here on the library stays loaded until the process ends. Where the system refuses, all is as it was.
pub fn stay_loaded() {
    #[cfg(any(windows, target_os = "macos"))]
    system::pin(std::ptr::from_ref(&HERE).cast());
}

/// An address inside the library.
#[cfg(any(windows, target_os = "macos"))]
static HERE: u8 = 0;

#[cfg(windows)]
mod system {
    use std::ffi::c_void;
    use std::ptr::null_mut;

    /// `GET_MODULE_HANDLE_EX_FLAG_PIN` and `GET_MODULE_HANDLE_EX_FLAG_FROM_ADDRESS` of libloaderapi.h.
    const PIN_THE_ONE_AT_ADDRESS: u32 = 1 | 4;

    #[link(name = "kernel32")]
    unsafe extern "system" {
        fn GetModuleHandleExW(flags: u32, address: *const c_void, module: *mut *mut c_void) -> i32;
    }

    pub fn pin(address: *const c_void) {
        let mut module = null_mut();
        // SAFETY: the address lies in this library, and the handle is written to a place of our own.
        unsafe { GetModuleHandleExW(PIN_THE_ONE_AT_ADDRESS, address, &raw mut module) };
    }
}

#[cfg(target_os = "macos")]
mod system {
    use std::ffi::{c_char, c_int, c_void};
    use std::ptr::null;

    /// `RTLD_LAZY`, `RTLD_NOLOAD` and `RTLD_NODELETE` of dlfcn.h on macOS: no new load, a mark on the one that is there.
    const MARK: c_int = 0x1 | 0x10 | 0x80;

    /// `Dl_info` of dlfcn.h.
    #[repr(C)]
    struct Place {
        file: *const c_char,
        base: *mut c_void,
        symbol: *const c_char,
        symbol_address: *mut c_void,
    }

    unsafe extern "C" {
        fn dladdr(address: *const c_void, place: *mut Place) -> c_int;
        fn dlopen(file: *const c_char, mode: c_int) -> *mut c_void;
    }

    pub fn pin(address: *const c_void) {
        let mut place = Place {
            file: null(),
            base: std::ptr::null_mut(),
            symbol: null(),
            symbol_address: std::ptr::null_mut(),
        };
        // SAFETY: the address lies in this library; the name that comes back belongs to the loader for as long as it is
        // loaded, and it is only handed on where there is one.
        unsafe {
            if dladdr(address, &raw mut place) != 0 && !place.file.is_null() {
                dlopen(place.file, MARK);
            }
        }
    }
}
