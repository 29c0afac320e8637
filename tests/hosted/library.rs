//! The two builds of the library that are tested, and whole channels run through an instance.

use plumbline_hosting::{Build, Bundle, Instance, Session, build};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// The library that aborts when `process` allocates: what every test runs on.
pub fn strict() -> &'static Bundle {
    static BUNDLE: OnceLock<Shared> = OnceLock::new();
    &BUNDLE.get_or_init(|| Shared(load(strict_library()))).0
}

/// The library as it is shipped, for what is timed.
pub fn release() -> &'static Bundle {
    static BUNDLE: OnceLock<Shared> = OnceLock::new();
    &BUNDLE.get_or_init(|| Shared(load(release_library()))).0
}

struct Shared(Bundle);

// SAFETY: a loaded library is the same for every thread; only its instances belong to one.
unsafe impl Send for Shared {}
// SAFETY: as above.
unsafe impl Sync for Shared {}

/// Where the library is that aborts when `process` allocates: what `PLUMBLINE_STRICT_LIBRARY` names, so that a long run
/// does not follow the tree; what `PLUMBLINE_LIBRARY` names, an installed bundle; else built once a run.
pub fn strict_library() -> &'static Path {
    static LIBRARY: OnceLock<PathBuf> = OnceLock::new();
    let named = || named("PLUMBLINE_STRICT_LIBRARY").or_else(|| named("PLUMBLINE_LIBRARY"));
    LIBRARY
        .get_or_init(|| named().unwrap_or_else(|| build(Build::Strict).expect("the plugin builds")))
}

/// Where the library is as it is shipped: what `PLUMBLINE_LIBRARY` names, else built once a run.
pub fn release_library() -> &'static Path {
    static LIBRARY: OnceLock<PathBuf> = OnceLock::new();
    let named = || named("PLUMBLINE_LIBRARY");
    LIBRARY.get_or_init(|| {
        named().unwrap_or_else(|| build(Build::Release).expect("the plugin builds"))
    })
}

fn named(variable: &str) -> Option<PathBuf> {
    std::env::var_os(variable).map(PathBuf::from)
}

fn load(library: &Path) -> Bundle {
    Bundle::load(library).expect("the plugin loads")
}

/// A working instance of the strict library.
pub fn open(session: Session) -> Instance {
    strict().open(&session).expect("the session opens")
}

/// Runs whole channels through an instance in blocks whose lengths come from `lengths`.
pub fn run(
    instance: &mut Instance,
    main: &mut [Vec<f32>],
    spot: &[Vec<f32>],
    mut lengths: impl FnMut() -> usize,
) {
    let total = main[0].len();
    let mut at = 0;
    while at < total {
        let end = total.min(at + lengths());
        let mut main: Vec<_> = main.iter_mut().map(|c| &mut c[at..end]).collect();
        let spot: Vec<_> = spot.iter().map(|c| &c[at..end]).collect();
        instance.process(&mut main, &spot).expect("it processes");
        at = end;
    }
}
