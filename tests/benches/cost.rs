//! What a hosted instance costs: share of a core, and the ratio to the multiply-add peak of this processor in the same run.
//!
//! At 64 samples and 48 kHz. `cargo bench -p plumbline-hosting --bench cost -- NAME` runs the cases whose name contains NAME.

mod direct;
#[path = "../../plugin/dsp/benches/peak/mod.rs"]
mod peak;
#[cfg(target_os = "linux")]
mod shown;

use direct::{BLOCK, Direct, SAMPLE_RATE};
use peak::{best_seconds, peak};
use plumbline_hosting::{Build, Bundle, build};
use std::fs;
use std::thread::sleep;
use std::time::Duration;

/// Settings and automation of one case.
struct Case {
    name: &'static str,
    settings: &'static [(&'static str, f64)],
    /// Parameters that have another value at every sample.
    automated: &'static [&'static str],
}

const ALIGN: &[(&str, f64)] = &[("nudge_first", 0.123), ("nudge_second", 0.456)];
const SWEEP: &[(&str, f64)] = &[
    ("nudge_first", 0.123),
    ("mode", 1.0),
    ("motion", 1.0),
    ("sync", 0.0),
    ("rate", 1.0),
];

const CASES: &[Case] = &[
    case("Align at rest", &[], &[]),
    case("Align between samples", ALIGN, &[]),
    case("Align, two automated", ALIGN, &["output", "nudge_first"]),
    case(
        "Align, bypassed",
        &[("nudge_first", 0.123), ("bypass", 1.0)],
        &[],
    ),
    case("Sweep, cycle", SWEEP, &[]),
    case("Sweep, two automated", SWEEP, &["offset", "output"]),
    case(
        "Sweep, bypassed",
        &[
            ("mode", 1.0),
            ("motion", 1.0),
            ("sync", 0.0),
            ("rate", 1.0),
            ("bypass", 1.0),
        ],
        &[],
    ),
    case(
        "Sweep, engage off",
        &[
            ("mode", 1.0),
            ("motion", 1.0),
            ("sync", 0.0),
            ("rate", 1.0),
            ("engage", 0.0),
        ],
        &[],
    ),
    case(
        "Sweep, blend 0",
        &[
            ("mode", 1.0),
            ("motion", 1.0),
            ("sync", 0.0),
            ("rate", 1.0),
            ("blend", 0.0),
        ],
        &[],
    ),
    case(
        "Sweep, an offset at rest",
        &[("mode", 1.0), ("offset", 3.21)],
        &[],
    ),
    case("Sweep, at the null point", &[("mode", 1.0)], &[]),
    case(
        "Align, with a print",
        &[("nudge_first", 0.123), ("print", 1.0), ("tape_level", 6.0)],
        &[],
    ),
    case(
        "Sweep, with a print",
        &[
            ("nudge_first", 0.123),
            ("print", 1.0),
            ("tape_level", 6.0),
            ("mode", 1.0),
            ("motion", 1.0),
        ],
        &[],
    ),
];

const fn case(
    name: &'static str,
    settings: &'static [(&'static str, f64)],
    automated: &'static [&'static str],
) -> Case {
    Case {
        name,
        settings,
        automated,
    }
}

fn main() {
    #[cfg(target_os = "linux")]
    let screen = plumbline_hosting::Screen::start().expect("a screen");
    #[cfg(target_os = "linux")]
    if let Some(screen) = &screen {
        // SAFETY: nothing else runs in this process yet.
        unsafe { std::env::set_var("DISPLAY", screen.display()) };
    }
    let library = build(Build::Release).expect("the plugin builds");
    let bundle = Bundle::load(library).expect("the plugin loads");
    let peak = peak();
    println!("multiply-add peak, one core {:8.2} G/s", peak / 1e9);
    let name = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let wanted = |case: &&Case| name.as_ref().is_none_or(|name| case.name.contains(name));
    let print = |name: &str, share: f64| {
        println!(
            "{name:28} {:7.4} % of one core, {:7.1} multiply-adds at the peak for a sample of a channel",
            100.0 * share,
            share * peak / (2.0 * SAMPLE_RATE)
        );
    };
    print(
        "every block, before its audio",
        block_of_one(&bundle) * SAMPLE_RATE / BLOCK as f64,
    );
    for case in CASES.iter().filter(wanted) {
        let (sound, silence) = share(&bundle, case);
        print(case.name, sound);
        println!("{:28} {:7.2} times as much in silence", "", silence / sound);
    }
    if name.is_some() {
        return;
    }
    match idle(&bundle, 100) {
        Some(share) => println!(
            "a hundred idle instances     {:7.4} % of one core",
            100.0 * share
        ),
        None => println!("skipped: this system does not say how long threads have run"),
    }
    #[cfg(target_os = "linux")]
    match screen {
        Some(_) => shown::print(&bundle).expect("windows"),
        None => println!("skipped: no Xvfb"),
    }
}

/// Part of a core, with sound and in silence. Numbers too small for the processor's fast path would show in the second.
fn share(bundle: &Bundle, case: &Case) -> (f64, f64) {
    let mut host = Direct::new(bundle, case.settings);
    host.automate(case.automated);
    let settled = |host: &mut Direct| {
        // A second, in which everything settles.
        host.play(750);
        best_seconds(|| host.play(75)) * SAMPLE_RATE / (75 * BLOCK) as f64
    };
    let sound = settled(&mut host);
    host.silence();
    (sound, settled(&mut host))
}

/// Seconds that a block of one sample takes in Align at rest: what host, guard, framework and the walk through the
/// parameters cost in every block, whatever it holds. No settled state can cost less.
fn block_of_one(bundle: &Bundle) -> f64 {
    let mut host = Direct::new(bundle, &[]);
    host.play(750);
    best_seconds(|| host.play_samples(75, 1)) / 75.0
}

/// Part of a core that so many active instances take while nothing is played.
fn idle(bundle: &Bundle, count: usize) -> Option<f64> {
    let instances: Vec<_> = (0..count).map(|_| Direct::new(bundle, &[])).collect();
    let time = Duration::from_secs(4);
    sleep(time / 4);
    let before = run_s()?;
    sleep(time);
    let after = run_s()?;
    drop(instances);
    Some((after - before) / time.as_secs_f64())
}

/// Seconds that the threads of this process have run, without the first one, which counts them.
fn run_s() -> Option<f64> {
    let tasks = fs::read_dir("/proc/self/task").ok()?;
    let first = std::process::id().to_string();
    let others = tasks.flatten().filter(|task| *task.file_name() != *first);
    let nanoseconds = |task: fs::DirEntry| {
        let words = fs::read_to_string(task.path().join("schedstat")).ok()?;
        words.split(' ').next()?.parse::<f64>().ok()
    };
    Some(others.filter_map(nanoseconds).sum::<f64>() * 1e-9)
}
