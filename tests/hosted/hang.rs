//! How long a test waits for another thread before it says that this one hangs.

use std::thread::sleep;
use std::time::{Duration, Instant};

/// What takes longer hangs: a machine that is busy with something else needs a part of it.
pub const HANG: Duration = Duration::from_secs(60);

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
