//! What the system says about this process: its libraries, threads and open files, and how long it has worked.

use std::time::Duration;
pub use system::is_loaded;

/// How long the processor has worked for this process so far: other work on the machine adds nothing.
#[cfg(unix)]
pub fn processor_time() -> Duration {
    let mut time = libc::timespec {
        tv_sec: 0,
        tv_nsec: 0,
    };
    // SAFETY: the pointer is valid.
    let result = unsafe { libc::clock_gettime(libc::CLOCK_PROCESS_CPUTIME_ID, &mut time) };
    assert_eq!(result, 0, "a clock of every Unix");
    Duration::new(time.tv_sec as u64, time.tv_nsec as u32)
}

/// As above, as coarse as the system counts: 16 ms on Windows, 10 in Wine.
#[cfg(windows)]
pub fn processor_time() -> Duration {
    system::processor_time()
}

/// Threads and open files. Only Linux is asked: elsewhere the system's own loader begins and ends some as it likes.
#[cfg(target_os = "linux")]
pub fn resources() -> [usize; 2] {
    let count = |list| std::fs::read_dir(list).map_or(0, Iterator::count);
    ["/proc/self/task", "/proc/self/fd"].map(count)
}

/// As above.
#[cfg(not(target_os = "linux"))]
pub fn resources() -> [usize; 2] {
    [0; 2]
}

#[cfg(target_os = "linux")]
mod system {
    use std::path::Path;

    /// True while a file is mapped into this process.
    pub fn is_loaded(library: &Path) -> bool {
        let library = library.canonicalize().expect("the library");
        let maps = std::fs::read_to_string("/proc/self/maps").expect("this process");
        maps.contains(&*library.to_string_lossy())
    }
}

#[cfg(target_os = "macos")]
mod system {
    use std::ffi::{CString, c_char, c_int, c_void};
    use std::path::Path;

    /// `RTLD_LAZY` and `RTLD_NOLOAD` of dlfcn.h: a handle where the library is there, and no loading.
    const LOOK: c_int = 0x1 | 0x10;

    unsafe extern "C" {
        fn dlopen(name: *const c_char, flags: c_int) -> *mut c_void;
        fn dlclose(library: *mut c_void) -> c_int;
    }

    /// True while a library is loaded.
    pub fn is_loaded(library: &Path) -> bool {
        let name = CString::new(library.as_os_str().as_encoded_bytes()).expect("a name");
        // SAFETY: a C string; a handle that comes back is given back.
        unsafe {
            let handle = dlopen(name.as_ptr(), LOOK);
            !handle.is_null() && dlclose(handle) == 0
        }
    }
}

#[cfg(windows)]
mod system {
    use std::ffi::c_void;
    use std::os::windows::ffi::OsStrExt;
    use std::path::Path;
    use std::time::Duration;

    #[link(name = "kernel32")]
    unsafe extern "system" {
        fn GetModuleHandleW(name: *const u16) -> *mut c_void;
        fn GetCurrentProcess() -> *mut c_void;
        fn GetProcessTimes(
            process: *mut c_void,
            began: *mut FileTime,
            ended: *mut FileTime,
            kernel: *mut FileTime,
            user: *mut FileTime,
        ) -> i32;
    }

    /// Tenths of a microsecond, the low half first.
    type FileTime = [u32; 2];

    /// In the kernel and outside it.
    pub fn processor_time() -> Duration {
        let [mut began, mut ended, mut kernel, mut user] = [FileTime::default(); 4];
        // SAFETY: the pointers are valid, and the handle is this process's for as long as it lives.
        let told = unsafe {
            let this = GetCurrentProcess();
            GetProcessTimes(this, &mut began, &mut ended, &mut kernel, &mut user)
        };
        assert_ne!(told, 0, "times of every process");
        let tenths = |[low, high]: FileTime| u64::from(high) << 32 | u64::from(low);
        Duration::from_nanos(100 * (tenths(kernel) + tenths(user)))
    }

    /// True while a library is loaded.
    pub fn is_loaded(library: &Path) -> bool {
        let name: Vec<u16> = library.as_os_str().encode_wide().chain([0]).collect();
        // SAFETY: a string with its end; the handle is only looked at.
        !unsafe { GetModuleHandleW(name.as_ptr()) }.is_null()
    }
}
