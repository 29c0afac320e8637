//! What the print costs: share of a core, and the ratio to the multiply-add peak of this processor in the same run.
//! A name as argument runs the cases of that name alone.

mod peak;

use std::hint::black_box;
use std::time::Instant;

use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup};

use peak::{best_seconds, peak};

/// Samples in a block.
const BLOCK: usize = 64;

fn main() {
    let peak = peak();
    println!("multiply-add peak, one core {:8.2} G/s", peak / 1e9);
    let plain = PrintSettings::default();
    let hiss = PrintSettings {
        hiss_db: Some(-60.0),
        ..plain
    };
    let slow = PrintSettings {
        speed: TapeSpeed::Cm19,
        equalisation: Equalisation::Nab,
        ..plain
    };
    let cases = [
        ("loud", 48_000.0, 0.25, plain),
        ("silence", 48_000.0, 0.0, plain),
        ("the end of a long decay (1e-36)", 48_000.0, 1e-36, plain),
        ("19 cm/s, NAB", 48_000.0, 0.25, slow),
        ("with noise", 48_000.0, 0.25, hiss),
        ("loud", 44_100.0, 0.25, plain),
        ("loud", 96_000.0, 0.25, plain),
        ("loud", 192_000.0, 0.25, plain),
    ];
    let asked = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    let asked = |name: &str| asked.as_ref().is_none_or(|asked| name == asked);
    for (name, rate, sample, settings) in cases.into_iter().filter(|case| asked(case.0)) {
        let share = cost(rate, sample, settings);
        let multiply_adds = share * peak / (2.0 * rate);
        println!(
            "Print, stereo, {rate} Hz, {BLOCK}-sample blocks, {name}: {:.4} % of a core, the time of {multiply_adds:.0} \
             multiply-adds at the peak for a sample of a channel",
            share * 100.0
        );
    }
    for rate in [48_000.0, 192_000.0, 768_000.0] {
        let start = Instant::now();
        black_box(print(rate));
        let seconds = start.elapsed().as_secs_f64();
        println!("creating one at {rate} Hz: {:.2} ms", seconds * 1e3);
    }
}

fn print(sample_rate: f64) -> Print {
    Print::new(PrintSetup {
        sample_rate,
        channels: 2,
    })
}

/// Share of one core for samples of this size.
fn cost(rate: f64, sample: f32, settings: PrintSettings) -> f64 {
    const BLOCKS: usize = 200;
    let mut print = print(rate);
    let mut at = 0;
    let seconds = best_seconds(|| {
        for _ in 0..BLOCKS {
            let (mut first, mut second) = ([sample; BLOCK], [-sample; BLOCK]);
            for n in (0..BLOCK).step_by(3) {
                (first[n], second[n]) = (-sample, sample);
            }
            let song_s = at as f64 / rate;
            print.process(&mut [&mut first, &mut second], song_s, &settings);
            black_box((&mut first, &mut second));
            at += BLOCK;
        }
    });
    seconds / (BLOCKS * BLOCK) as f64 * rate
}
