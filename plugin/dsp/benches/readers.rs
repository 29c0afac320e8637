//! What the readers and Align cost: ratios against the multiply-add peak of this processor, measured in the same run.

mod peak;

use std::hint::black_box;

use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::decks::wobble::WobbleAmounts;
use plumbline_dsp::decks::{Sweep, SweepSetup};
use plumbline_dsp::delay::align::{Align, AlignSetup, ChannelShift};
use plumbline_dsp::delay::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader};
use plumbline_dsp::delay::sinc_kernel::ReadKernel;

use peak::{best_seconds, peak};

fn main() {
    let peak = peak();
    println!("multiply-add peak, one core       {:8.2} G/s", peak / 1e9);
    for kernel in [ReadKernel::SHORT, ReadKernel::LONG] {
        for block in [64, CHUNK - 1] {
            let rate = fixed(kernel, block);
            row("fixed reader", kernel, block, rate / peak);
        }
        // Two multiply-adds a tap: the straight line between two rows of the table.
        let adds = 2.0 * kernel.taps() as f64;
        let frames = moving::<1>(kernel, CHUNK);
        row("moving reader", kernel, CHUNK, frames * adds / peak);
        println!("    {:.1} M frames/s", frames / 1e6);
        let frames = moving::<2>(kernel, CHUNK);
        row("  two channels", kernel, CHUNK, 2.0 * frames * adds / peak);
    }
    let loud = align_cost(3.37, 0.25);
    let table = [
        ("between samples", loud),
        ("at whole samples", align_cost(0.0, 0.25)),
        ("silence", align_cost(3.37, 0.0)),
        ("the end of a long decay (1e-36)", align_cost(3.37, 1e-36)),
    ];
    for (name, share) in table {
        println!(
            "Align, stereo, 48 kHz, 64-sample blocks, {name}: {:.4} % of a core, {:.2} of a loud signal",
            share * 100.0,
            share / loud
        );
    }
    for (name, wobble) in [("cycle", 0.0), ("cycle with wow and flutter", 0.0005)] {
        println!(
            "Sweep, stereo, 48 kHz, 64-sample blocks, {name}: {:.4} % of a core",
            sweep_cost(wobble) * 100.0
        );
    }
}

fn row(name: &str, kernel: ReadKernel, block: usize, ratio: f64) {
    println!(
        "{name:14} {} taps, blocks of {block:4} {:8.1} % of the peak",
        kernel.taps(),
        ratio * 100.0
    );
}

fn full_line() -> DelayLine {
    let mut line = DelayLine::new(4096);
    let noise: Vec<f32> = (0..4096).map(|i| ((i * i) as f32).sin()).collect();
    line.push(&noise);
    line
}

/// Multiply-adds a second of the fixed reader.
fn fixed(kernel: ReadKernel, block: usize) -> f64 {
    const CALLS: usize = 300;
    let line = full_line();
    let reader = FixedReader::new(kernel, 500.3);
    let mut out = [0.0; CHUNK];
    let seconds = best_seconds(|| {
        for _ in 0..CALLS {
            black_box(&reader).read(&line, &mut out[..block]);
            black_box(&out);
        }
    });
    (CALLS * block * kernel.taps()) as f64 / seconds
}

/// Frames a second of the moving reader at 0.5 % speed difference, channels at one position.
fn moving<const CHANNELS: usize>(kernel: ReadKernel, block: usize) -> f64 {
    const CALLS: usize = 300;
    let lines = [(); CHANNELS].map(|()| full_line());
    let lines = lines.each_ref();
    let reader = MovingReader::new(kernel);
    let delays: Vec<f64> = (0..block * CALLS)
        .map(|i| 500.3 + 0.005 * i as f64)
        .collect();
    let mut outs = [[0.0; CHUNK]; CHANNELS];
    let seconds = best_seconds(|| {
        for delays in delays.chunks_exact(block) {
            let parts = outs.each_mut().map(|out| &mut out[..block]);
            reader.read_older(lines, 0, delays, parts);
            black_box(&outs);
        }
    });
    (CALLS * block) as f64 / seconds
}

/// Share of one core that Align takes at 48 kHz for samples of this size.
fn align_cost(shift: f64, sample: f32) -> f64 {
    const BLOCKS: usize = 200;
    let mut align = Align::new(AlignSetup {
        sample_rate: 48_000.0,
        channels: 2,
        reach_s: 0.0,
    });
    let place = |shift_samples| ChannelShift {
        shift_samples,
        inverted: false,
    };
    align.set_shifts(&[place(shift), place(shift * 2.0)]);
    align.reset();
    let seconds = best_seconds(|| {
        for _ in 0..BLOCKS {
            let (mut first, mut second) = ([sample; 64], [-sample; 64]);
            align.process(&mut [&mut first, &mut second]);
            black_box((&mut first, &mut second));
        }
    });
    seconds / (BLOCKS as f64 * 64.0 / 48_000.0)
}

/// Share of one core that Sweep takes at 48 kHz.
fn sweep_cost(wobble: f64) -> f64 {
    const BLOCKS: usize = 200;
    let mut sweep = Sweep::new(SweepSetup {
        sample_rate: 48_000.0,
        channels: 2,
        delayed_before: 32,
    });
    let course = CourseSettings {
        motion: Motion::Cycle,
        pace: Pace::Hertz(0.25),
        wobble: WobbleAmounts {
            wow: wobble,
            flutter: wobble,
        },
        ..CourseSettings::default()
    };
    let mix = MixSettings::default();
    let seconds = best_seconds(|| {
        for _ in 0..BLOCKS {
            let (mut first, mut second) = ([0.25; 64], [-0.25; 64]);
            let channels = &mut [&mut first[..], &mut second[..]];
            sweep.process(channels, &course, &mix, Transport::Stopped);
            black_box((&mut first, &mut second));
        }
    });
    seconds / (BLOCKS as f64 * 64.0 / 48_000.0)
}
