//! What every measured test shares: seeded noise, sines, and the tables written for the manual's figures.

use std::f64::consts::TAU;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Seeded noise, even in -1 to 1 (Knuth's 64-bit linear congruence).
pub struct Noise(u64);

impl Noise {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    pub fn samples(&mut self, count: usize) -> Vec<f32> {
        (0..count).map(|_| self.next() as f32).collect()
    }
}

/// A full-scale sine, exact at every sample.
pub fn sine(hz: f64, sample_rate: f64, count: usize) -> Vec<f32> {
    (0..count)
        .map(|n| sine_at(hz, sample_rate, n as f64) as f32)
        .collect()
}

/// The sine at any place between samples.
pub fn sine_at(hz: f64, sample_rate: f64, place: f64) -> f64 {
    (TAU * (hz * place / sample_rate).fract()).sin()
}

/// 20 log.
pub fn db(amplitude: f64) -> f64 {
    20.0 * amplitude.max(1e-20).log10()
}

/// Largest step from a sample to the next.
pub fn largest_step(samples: &[f32]) -> f64 {
    let steps = samples.windows(2).map(|w| f64::from((w[1] - w[0]).abs()));
    steps.fold(0.0, f64::max)
}

/// Writes `target/measured/NAME.csv`, the numbers behind a figure.
pub fn write_csv(name: &str, header: &str, rows: &[Vec<f64>]) {
    let numbers = |row: &Vec<f64>| {
        let cells: Vec<String> = row.iter().map(f64::to_string).collect();
        cells.join(",")
    };
    let mut lines = vec![header.to_string()];
    lines.extend(rows.iter().map(numbers));
    write_lines(name, &lines);
}

/// Writes `target/measured/NAME.csv` from lines with words in them.
pub fn write_lines(name: &str, lines: &[String]) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).with_file_name("measured");
    std::fs::create_dir_all(&folder).expect("a writable target folder");
    let text = lines.join("\n") + "\n";
    std::fs::write(folder.join(name).with_extension("csv"), text).expect("a writable file");
}

/// Applies a function to every item on all cores; the results are in the items' order.
pub fn parallel<T: Sync, R: Send>(items: &[T], apply: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        while let Some((number, item)) = {
            let number = next.fetch_add(1, Ordering::Relaxed);
            items.get(number).map(|item| (number, item))
        } {
            done.push((number, apply(item)));
        }
        done
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let mut results: Vec<(usize, R)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..cores).map(|_| scope.spawn(work)).collect();
        let joined = workers.into_iter().map(|worker| worker.join());
        joined
            .flat_map(|done| done.expect("no worker panics"))
            .collect()
    });
    results.sort_by_key(|(number, _)| *number);
    results.into_iter().map(|(_, result)| result).collect()
}

/// Fails with the case and the error when `got` is farther than `tolerance` from `want`.
#[track_caller]
pub fn assert_near(case: &str, got: f64, want: f64, tolerance: f64) {
    let error = (got - want).abs();
    assert!(
        error <= tolerance || got == want,
        "{case}: {got} instead of {want}, error {error:e} above {tolerance:e}"
    );
}

/// Fails with the case when `got` is above `limit`.
#[track_caller]
pub fn assert_below(case: &str, got: f64, limit: f64) {
    assert!(got <= limit, "{case}: {got} above the limit of {limit}");
}
