//! What loading the library does to the process of a host: nothing while it scans, and for good once there was an instance.

use crate::library::{release_library, strict_library};
use crate::own_process::alone;
use plumbline_hosting::{Bundle, Session};
use std::fs;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

/// A validator's limit for a scan. Common practice, no source.
const SCAN: Duration = Duration::from_millis(100);

fn is_loaded(library: &Path) -> bool {
    let maps = fs::read_to_string("/proc/self/maps").expect("this process");
    maps.contains(&*library.to_string_lossy())
}

/// Threads and open files of this process.
fn resources() -> [usize; 2] {
    ["/proc/self/task", "/proc/self/fd"].map(|list| fs::read_dir(list).map_or(0, Iterator::count))
}

#[test]
fn after_its_first_instance_a_library_stays_whatever_the_host_unloads() {
    alone(
        "loading::after_its_first_instance_a_library_stays_whatever_the_host_unloads",
        || {
            let library = strict_library();
            // On a thread of its own: what a library keeps for a thread goes with that.
            let used =
                move || drop(Bundle::load(library).map(|bundle| bundle.open(&Session::default())));
            thread::spawn(used).join().unwrap();
            thread::spawn(move || drop(Bundle::load(library)))
                .join()
                .unwrap();
            assert!(is_loaded(library), "its threads may still be ending");
        },
    );
}

#[test]
fn a_scan_is_quick_and_begins_nothing() {
    alone("loading::a_scan_is_quick_and_begins_nothing", || {
        let library = release_library();
        let before = resources();
        let begin = Instant::now();
        let bundle = Bundle::load(library).unwrap();
        let took = begin.elapsed();
        println!("a scan takes {:.1} ms", took.as_secs_f64() * 1000.0);
        assert_eq!(resources(), before, "threads and files");
        assert!(took < SCAN, "{took:?}");
        drop(bundle);
    });
}
