//! What every measured test shares: sines, levels, and the tables written for the manual's figures.

use std::f64::consts::TAU;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

use plumbline_dsp::delay::align::ChannelShift;
use plumbline_dsp::meters::click::largest_step;
use realfft::RealFftPlanner;

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

/// Fails with the case when the largest step of `output` is more than 1.1 times that of `input`: a click. Returns the ratio.
#[track_caller]
pub fn assert_no_click(case: &str, output: &[f32], input: &[f32]) -> f64 {
    let ratio = largest_step(output) / largest_step(input);
    assert_below(case, ratio, 1.1);
    ratio
}

/// Magnitudes of the spectrum, bins of rate / length.
pub fn magnitudes(mut time: Vec<f64>) -> Vec<f64> {
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(time.len());
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut time, &mut spectrum)
        .expect("its own buffers");
    spectrum.iter().map(|bin| bin.norm()).collect()
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

/// A shift that keeps the polarity.
pub fn upright(shift_samples: f64) -> ChannelShift {
    ChannelShift {
        shift_samples,
        inverted: false,
    }
}

/// A shift that reverses the polarity.
pub fn inverted(shift_samples: f64) -> ChannelShift {
    ChannelShift {
        shift_samples,
        inverted: true,
    }
}
