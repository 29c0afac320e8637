//! What loading the library does to the process of a host: nothing while it scans, and for good once there was an instance.

use crate::alone::alone;
use crate::library::{release_library, strict_library};
use crate::this_process::{is_loaded, resources};
use plumbline_hosting::{Bundle, Session};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

/// A validator's limit for a scan. Common practice, no source.
const SCAN: Duration = Duration::from_millis(100);

/// Does a host's scan of a library: quick, nothing begun, nothing left.
pub fn assert_scans(what: &str, library: &'static Path, scan: fn(&Path)) {
    let before = resources();
    let begin = Instant::now();
    scan(library);
    let took = begin.elapsed();
    println!("{what}: a scan takes {:.1} ms", took.as_secs_f64() * 1000.0);
    assert_eq!(resources(), before, "threads and files");
    assert!(
        !is_loaded(library),
        "it stays, and nobody asked it for anything"
    );
    assert!(took < SCAN, "{took:?}");
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
fn a_scan_is_quick_and_leaves_nothing() {
    alone("loading::a_scan_is_quick_and_leaves_nothing", || {
        assert_scans("CLAP", release_library(), |library| {
            drop(Bundle::load(library).unwrap());
        });
    });
}
