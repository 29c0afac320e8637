//! The moving reader against a general resampler crate: frames a second beside what each adds to a 1 kHz tone.

use std::f64::consts::TAU;
use std::time::Instant;

use plumbline_dsp::delay::delay_line::{CHUNK, DelayLine, MovingReader};
use plumbline_dsp::delay::sinc_kernel::ReadKernel;
use rubato::audioadapter_buffers::direct::SequentialSlice;
use rubato::{
    Async, FixedAsync, Resampler, SincInterpolationParameters, SincInterpolationType,
    WindowFunction,
};

const RATE: f64 = 48_000.0;
const HZ: f64 = 1000.0;
/// The moving deck is this much slower.
const SLOWER: f64 = 0.005;
const FRAMES: usize = 1 << 15;

fn main() {
    let (ours, ours_db) = moving_reader();
    println!(
        "moving reader, 64 taps: {:6.1} M frames/s, spurious {ours_db:6.1} dB",
        ours / 1e6
    );
    use SincInterpolationType::{Cubic, Linear};
    for (taps, points, kind) in [
        (64, 2048, Linear),
        (64, 128, Cubic),
        (128, 128, Cubic),
        (128, 2048, Linear),
        (256, 128, Cubic),
        (256, 256, Cubic),
        (256, 2048, Linear),
    ] {
        let (theirs, theirs_db) = resampler(taps, points, kind);
        println!(
            "rubato sinc, {taps:3} taps, {points:4} points, {kind:?}: {:6.1} M frames/s, \
             spurious {theirs_db:6.1} dB; the moving reader is {:.1} times as fast",
            theirs / 1e6,
            ours / theirs
        );
    }
}

fn tone(count: usize) -> Vec<f32> {
    let place = |n: usize| (TAU * (HZ / RATE * n as f64).fract()).sin() as f32;
    (0..count).map(place).collect()
}

/// Frames a second and spurious level of our reader.
fn moving_reader() -> (f64, f64) {
    let reader = MovingReader::new(ReadKernel::SHORT);
    let input = tone(FRAMES);
    let delays: Vec<f64> = (0..FRAMES).map(|n| 100.0 + SLOWER * n as f64).collect();
    let mut out = vec![0.0; FRAMES];
    let mut line = DelayLine::new(1024);
    let seconds = best_seconds(|| {
        let blocks = input.chunks(CHUNK).zip(delays.chunks(CHUNK));
        for ((input, delays), out) in blocks.zip(out.chunks_mut(CHUNK)) {
            line.push(input);
            reader.read(&line, delays, out);
        }
    });
    (FRAMES as f64 / seconds, spurious_db(&out[1024..]))
}

/// Frames a second and spurious level of the crate's band-limited resampler, one channel, single precision.
fn resampler(taps: usize, points: usize, interpolation: SincInterpolationType) -> (f64, f64) {
    let parameters = SincInterpolationParameters {
        sinc_len: taps,
        f_cutoff: None,
        oversampling_factor: points,
        interpolation,
        window: WindowFunction::BlackmanHarris2,
    };
    let ratio = 1.0 / (1.0 - SLOWER);
    let mut resampler =
        Async::<f32>::new_sinc(ratio, 1.1, &parameters, 1024, 1, FixedAsync::Output)
            .expect("sane parameters");
    let input = tone(FRAMES + 4096);
    let mut out = vec![0.0f32; FRAMES];
    let seconds = best_seconds(|| {
        resampler.reset();
        let mut taken = 0;
        for block in out.chunks_exact_mut(1024) {
            let needs = resampler.input_frames_next();
            let from = SequentialSlice::new(&input[taken..taken + needs], 1, needs);
            let to = SequentialSlice::new_mut(block, 1, 1024);
            let (from, mut to) = (from.expect("one channel"), to.expect("one channel"));
            resampler
                .process_into_buffer(&from, &mut to, None)
                .expect("as many frames as asked for");
            taken += needs;
        }
    });
    (FRAMES as f64 / seconds, spurious_db(&out[1024..]))
}

/// Best of 40 runs.
fn best_seconds(mut work: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..40 {
        let start = Instant::now();
        work();
        best = best.min(start.elapsed().as_secs_f64());
    }
    best
}

/// What is left of `audio` without its best sine at the Doppler-exact frequency, against that sine.
fn spurious_db(audio: &[f32]) -> f64 {
    let w = TAU * HZ * (1.0 - SLOWER) / RATE;
    let (mut cc, mut ss, mut cs, mut yc, mut ys, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (n, y) in audio.iter().enumerate() {
        let ((s, c), y) = ((w * n as f64).sin_cos(), f64::from(*y));
        (cc, ss, cs) = (cc + c * c, ss + s * s, cs + c * s);
        (yc, ys, yy) = (yc + y * c, ys + y * s, yy + y * y);
    }
    let det = cc * ss - cs * cs;
    let (a, b) = ((yc * ss - ys * cs) / det, (ys * cc - yc * cs) / det);
    let mut rest = 0.0;
    for (n, y) in audio.iter().enumerate() {
        let (s, c) = (w * n as f64).sin_cos();
        rest += (f64::from(*y) - a * c - b * s).powi(2);
    }
    10.0 * (rest / yy).log10()
}
