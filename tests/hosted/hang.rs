//! How long a test waits for another thread before it says that this one hangs.

use std::thread::sleep;
use std::time::{Duration, Instant};

/// What takes longer hangs: a machine that is busy with something else needs a part of it.
pub const HANG: Duration = Duration::from_secs(60);

/// Ends this process with an error where it still runs when everything else would be over. For windows, which are looked at
/// under Linux.
#[cfg(target_os = "linux")]
pub fn abort_if_it_hangs() {
    std::thread::spawn(|| {
        sleep(2 * HANG);
        eprintln!("this process hangs");
        std::process::abort();
    });
}

/// Asks until something is so, with a pause between two times; false when it hangs.
pub fn wait_until(pause: Duration, mut is_so: impl FnMut() -> bool) -> bool {
    let begin = Instant::now();
    loop {
        if is_so() {
            return true;
        }
        if begin.elapsed() > HANG {
            return false;
        }
        sleep(pause);
    }
}
