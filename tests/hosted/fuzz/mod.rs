//! Hosts that misbehave at random: cases from seeds, each in a process that may die, and made small when it does.
//!
//! [`case`] makes up what a host does, `clap` and `vst3` do it, `judge` looks at what comes out, `leaks` at what stays. Called by
//! `cargo xtask fuzz` and, for 20 s of each format, by every run of the tests; calls the hosts of both formats beside it.
//! `PLUMBLINE_FUZZ_SECONDS` is the time for one format (20 s without it), `PLUMBLINE_FUZZ_SEED` the first seed.

mod case;
mod clap;
mod judge;
mod leaks;
mod vst3;

use crate::hang::HANG;
use crate::library::strict_library;
use case::{Step, steps};
use std::process::Command;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::thread;
use std::time::{Duration, Instant};

/// Set for the process that runs cases: a range of seeds, or one seed and the steps that are kept of it.
const WORK: &str = "PLUMBLINE_FUZZ_WORK";
/// Cases that one process runs.
const BATCH: u64 = 40;

/// A host of one format with one instance in it.
trait Driver {
    /// Does one step; an error is what the plugin did wrong.
    fn step(&mut self, step: &Step) -> Result<(), String>;
}

type NewDriver = fn() -> Box<dyn Driver>;

#[test]
fn clap_survives() {
    campaign("fuzz::clap_survives", || Box::new(clap::Clap::new()));
}

#[test]
fn vst3_survives() {
    campaign("fuzz::vst3_survives", || Box::new(vst3::Host::new()));
}

/// A number from the environment.
fn setting(name: &str, otherwise: u64) -> u64 {
    let text = std::env::var(name).ok();
    text.map_or(otherwise, |text| text.parse().expect(name))
}

fn campaign(test: &str, new: NewDriver) {
    if let Ok(work) = std::env::var(WORK) {
        return do_work(&work, new);
    }
    let time = Duration::from_secs(setting("PLUMBLINE_FUZZ_SECONDS", 20));
    let mut seed = setting("PLUMBLINE_FUZZ_SEED", 1);
    let (begin, first, mut blocks) = (Instant::now(), seed, 0);
    while begin.elapsed() < time {
        let end = seed + BATCH;
        match run(test, &format!("{seed}..{end}")) {
            Ok(count) => blocks += count,
            Err(failure) => panic!("{}", shrunk(test, failure)),
        }
        seed = end;
    }
    println!(
        "{test}: {} cases, {blocks} blocks, seeds {first}..{seed}",
        seed - first
    );
}

/// The seed that failed, and the last words.
struct Failure {
    seed: u64,
    words: String,
}

/// Runs work in a process of its own; the count of blocks.
fn run(test: &str, work: &str) -> Result<u64, Failure> {
    let own = std::env::current_exe().expect("this program");
    // Built here where it is missing: that may take longer than a case may.
    let library = strict_library();
    let output = Command::new(own)
        .args([test, "--exact", "--nocapture"])
        .env(WORK, work)
        .env("PLUMBLINE_STRICT_LIBRARY", library)
        .envs([leaks::EXACT])
        .output()
        .expect("the cases run");
    let words = String::from_utf8_lossy(&output.stdout).into_owned();
    let last = |name: &str| {
        let line = words.lines().rev().find_map(|line| line.strip_prefix(name));
        line.and_then(|number| number.trim().parse().ok())
            .unwrap_or(0)
    };
    if output.status.success() && words.contains("1 passed") {
        return Ok(last("blocks "));
    }
    let said = String::from_utf8_lossy(&output.stderr);
    let tail: Vec<&str> = said.lines().filter(|line| !line.starts_with(' ')).collect();
    let tail = tail[tail.len().saturating_sub(12)..].join("\n");
    Err(Failure {
        seed: last("case "),
        words: format!("{}\n{tail}", output.status),
    })
}

/// The smallest case that still fails, in words.
fn shrunk(test: &str, failure: Failure) -> String {
    let Failure { seed, mut words } = failure;
    let all = steps(seed);
    let mut kept: Vec<usize> = (0..all.len()).collect();
    let mut size = kept.len().div_ceil(2);
    while size > 0 {
        let mut at = 0;
        while at < kept.len() {
            let end = (at + size).min(kept.len());
            let fewer = [&kept[..at], &kept[end..]].concat();
            match run(test, &format!("{seed}:{}", list(&fewer))) {
                Err(failure) => (kept, words) = (fewer, failure.words),
                Ok(_) => at = end,
            }
        }
        size /= 2;
    }
    let steps: Vec<_> = kept
        .iter()
        .map(|&index| format!("  {:?}", all[index]))
        .collect();
    let again = format!("{WORK}={seed}:{}", list(&kept));
    format!("{test} {again}\n{}\n{words}", steps.join("\n"))
}

fn list(numbers: &[usize]) -> String {
    let words: Vec<_> = numbers.iter().map(usize::to_string).collect();
    words.join(",")
}

/// In the process that may die.
fn do_work(work: &str, new: NewDriver) {
    thread::spawn(end_a_hang);
    let mut blocks = 0;
    if let Some((seed, kept)) = work.split_once(':') {
        let all = steps(seed.parse().expect("a seed"));
        let kept = kept
            .split(',')
            .filter_map(|index| index.parse::<usize>().ok());
        let kept: Vec<Step> = kept.map(|index| all[index].clone()).collect();
        blocks += do_case(&kept, new);
    } else {
        let (first, end) = work.split_once("..").expect("a range of seeds");
        let parsed = |text: &str| text.parse::<u64>().expect("a seed");
        for seed in parsed(first)..parsed(end) {
            println!("\ncase {seed}");
            blocks += do_case(&steps(seed), new);
        }
    }
    println!("\nblocks {blocks}");
}

/// Steps that this process has begun.
static BEGUN: AtomicU64 = AtomicU64::new(0);

/// Ends the process when no step begins for too long: the longest ones take a second on a machine that has other work.
fn end_a_hang() {
    let (mut seen, mut since) = (0, Instant::now());
    while since.elapsed() < HANG {
        thread::sleep(Duration::from_millis(100));
        let begun = BEGUN.load(Relaxed);
        if std::mem::replace(&mut seen, begun) != begun {
            since = Instant::now();
        }
    }
    eprintln!("step {seen} of this process hangs");
    std::process::abort();
}

/// One case; the count of blocks.
fn do_case(steps: &[Step], new: NewDriver) -> u64 {
    // What a first instance leaves for good is there before anything is counted.
    drop(new());
    leaks::judged(|| {
        let mut driver = new();
        for (index, step) in steps.iter().enumerate() {
            BEGUN.fetch_add(1, Relaxed);
            if let Err(error) = driver.step(step) {
                panic!("step {index}, {step:?}: {error}");
            }
        }
    });
    steps
        .iter()
        .filter(|step| matches!(step, Step::Play(_)))
        .count() as u64
}
