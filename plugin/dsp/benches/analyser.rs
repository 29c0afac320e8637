//! What listening costs: a long groove at 96 kHz against real time, and its last half minute against its first.

use std::f64::consts::TAU;
use std::hint::black_box;
use std::time::Instant;

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup};

const RATE: f64 = 96_000.0;
/// A sixteenth note at 112 beats a minute.
const SIXTEENTH_S: f64 = 60.0 / 112.0 / 4.0;
/// The groove goes round after sixteen bars, 34 s ...
const SIXTEENTHS: usize = 16 * 16;
/// ... and is heard so many times: ten minutes.
const ROUNDS: usize = 18;
const BLOCK: usize = 1024;

/// A drum as a decaying tone and decaying noise.
struct Drum {
    hz: f64,
    tone: f64,
    tone_s: f64,
    noise: f64,
    noise_s: f64,
    /// Seconds to first and second overhead, and to the snare's spot.
    way_s: [f64; 3],
    level: [f64; 3],
}

const KICK: Drum = drum(
    55.0,
    [0.6, 0.12],
    [0.08, 0.004],
    [0.0046, 0.0041, 0.0019],
    0.25,
);
const SNARE: Drum = drum(
    190.0,
    [0.3, 0.06],
    [0.3, 0.05],
    [0.0035, 0.0039, 0.0001],
    1.0,
);
const HAT: Drum = drum(
    6_200.0,
    [0.02, 0.03],
    [0.1, 0.03],
    [0.0031, 0.0048, 0.0016],
    0.15,
);
const TOM: Drum = drum(
    120.0,
    [0.5, 0.15],
    [0.05, 0.01],
    [0.0033, 0.0044, 0.0015],
    0.2,
);

const fn drum(hz: f64, tone: [f64; 2], noise: [f64; 2], way_s: [f64; 3], in_spot: f64) -> Drum {
    Drum {
        hz,
        tone: tone[0],
        tone_s: tone[1],
        noise: noise[0],
        noise_s: noise[1],
        way_s,
        level: [0.25, 0.25, 0.9 * in_spot],
    }
}

fn main() {
    let channels = groove();
    let round_s = channels[0].len() as f64 / RATE;
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: RATE,
        inputs: Inputs::PairAndSpot,
    });
    let costs: Vec<f64> = (0..ROUNDS)
        .map(|_| listen(&mut analyser, &channels))
        .collect();
    let m = analyser.measurement();
    let hits: u32 = m.drums().iter().map(|drum| drum.hits).sum();
    // The median round: other work on the machine must not count.
    let mut sorted = costs.clone();
    sorted.sort_by(f64::total_cmp);
    println!(
        "Analyser, pair and spot, 96 kHz, {:.0} s, {hits} hits of {} drums: {:.0} x real time",
        round_s * ROUNDS as f64,
        m.drum_count,
        round_s / sorted[ROUNDS / 2]
    );
    println!(
        "last {round_s:.0} s against the second: {:.2} x the time",
        costs[ROUNDS - 1] / costs[1]
    );
}

/// Seconds that one round takes.
fn listen(analyser: &mut Analyser, channels: &[Vec<f32>; 3]) -> f64 {
    let start = Instant::now();
    for at in (0..channels[0].len()).step_by(BLOCK) {
        let block = at..(at + BLOCK).min(channels[0].len());
        let [first, second, spot] =
            [0, 1, 2].map(|channel: usize| &channels[channel][block.clone()]);
        black_box(analyser.push(first, second, spot));
    }
    start.elapsed().as_secs_f64()
}

/// Kick on 1 and 3, snare on 2 and 4, hats in eighths, two toms every second bar; first, second and the snare's spot.
fn groove() -> [Vec<f32>; 3] {
    let length = (SIXTEENTHS as f64 * SIXTEENTH_S * RATE) as usize;
    let mut random = fastrand::Rng::with_seed(7);
    let mut channels = [(); 3].map(|()| {
        (0..length)
            .map(|_| 1e-5 * signed(&mut random) as f32)
            .collect()
    });
    for step in 0..SIXTEENTHS {
        let drums: &[&Drum] = match step % 32 {
            0 | 8 | 16 | 24 => &[&KICK, &HAT],
            4 | 12 | 20 | 28 => &[&SNARE, &HAT],
            29 | 31 => &[&TOM],
            step if step % 2 == 0 => &[&HAT],
            _ => &[],
        };
        for drum in drums {
            let human_s = 0.002 * signed(&mut random);
            strike(
                drum,
                step as f64 * SIXTEENTH_S + human_s,
                &mut random,
                &mut channels,
            );
        }
    }
    channels
}

fn strike(drum: &Drum, at_s: f64, random: &mut fastrand::Rng, channels: &mut [Vec<f32>; 3]) {
    let gain = 0.8 + 0.2 * signed(random);
    let seed = random.u64(..);
    for (channel, (way_s, level)) in channels.iter_mut().zip(drum.way_s.iter().zip(drum.level)) {
        let mut noise = fastrand::Rng::with_seed(seed);
        let start = ((at_s + 0.005 + way_s) * RATE) as usize;
        let heard = channel.iter_mut().skip(start).take((0.5 * RATE) as usize);
        for (n, out) in heard.enumerate() {
            let t = n as f64 / RATE;
            let tone = drum.tone * (TAU * drum.hz * t).sin() * (-t / drum.tone_s).exp();
            let noise = drum.noise * signed(&mut noise) * (-t / drum.noise_s).exp();
            *out += (gain * level * (tone + noise)) as f32;
        }
    }
}

/// Even in -1 to 1.
fn signed(random: &mut fastrand::Rng) -> f64 {
    2.0 * random.f64() - 1.0
}
