//! What loading the library does to the process of a host: nothing while it scans, and for good once there was an instance.

use crate::alone::alone;
use crate::library::{release_library, strict_library};
use crate::this_process::{is_loaded, processor_time, resources};
use plumbline_hosting::{Bundle, Session};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

/// A validator's limit for a scan. Common practice, no source. Held against the processor's time, which other work on the
/// machine does not lengthen.
const SCAN: Duration = Duration::from_millis(100);

/// Scans of one process. The first one on Windows also loads the system's own libraries for windows, which a host with a
/// window has: there the quickest of the others is held to the limit, on other systems the first.
const SCANS: usize = 5;

/// How long a scan took.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Took {
    /// By the processor: what is held to the limit.
    worked: Duration,
    /// By the clock.
    elapsed: Duration,
}

impl Took {
    fn of(work: impl FnOnce()) -> Self {
        let (begin, worked) = (Instant::now(), processor_time());
        work();
        Self {
            worked: processor_time() - worked,
            elapsed: begin.elapsed(),
        }
    }
}

/// Does a host's scan of a library several times: quick, nothing begun, nothing left.
pub fn assert_scans(what: &str, library: &'static Path, scan: fn(&Path)) {
    let mut took = Vec::new();
    for _ in 0..SCANS {
        let before = resources();
        took.push(Took::of(|| scan(library)));
        assert_eq!(resources(), before, "threads and files");
        assert!(
            !is_loaded(library),
            "it stays, and nobody asked for anything"
        );
    }
    let again = *took[1..].iter().min().expect("more than one");
    let ms = |time: Duration| time.as_secs_f64() * 1000.0;
    for (which, took) in [("a scan", took[0]), ("again", again)] {
        let (worked, elapsed) = (ms(took.worked), ms(took.elapsed));
        println!(
            "{what}: {which} takes {worked:.1} ms of the processor, {elapsed:.1} ms by the clock"
        );
    }
    let counts = if cfg!(windows) { again } else { took[0] };
    assert!(counts.worked < SCAN, "{took:?}");
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
