//! Align as the shell runs it: true latency, changes without clicks, silence that stays silent.

use plumbline_dsp::delay::align::{Align, AlignSetup};

use crate::noise::Noise;
use crate::support::{assert_no_click, inverted, sine, upright, write_csv};

const RATE: f64 = 48_000.0;

fn align(sample_rate: f64, reach_s: f64) -> Align {
    Align::new(AlignSetup {
        sample_rate,
        channels: 2,
        reach_s,
    })
}

#[test]
fn an_impulse_comes_out_exactly_at_the_latency() {
    for rate in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0, 768_000.0] {
        for reach in [0.0, 0.0071, 0.030] {
            let mut align = align(rate, reach);
            let latency = align.latency();
            let mut first = vec![0.0; latency + 500];
            first[0] = 1.0;
            let mut second = first.clone();
            align.process(&mut [&mut first, &mut second]);
            let expected = |n: usize| if n == latency { 1.0 } else { 0.0 };
            for channel in [&first, &second] {
                let exact = channel.iter().enumerate().all(|(n, y)| *y == expected(n));
                assert!(exact, "{rate} Hz, reach {reach} s, latency {latency}");
            }
        }
    }
}

#[test]
fn changes_make_no_click() {
    // Largest step from sample to sample at most 1.1 times the input's own. No tone fits the rate evenly: the input
    // itself must pass through its steepest place.
    let changes = [
        ("small", upright(0.0), upright(0.37)),
        ("a centimetre", upright(0.0), upright(1.4)),
        ("half a metre", upright(0.0), upright(70.0)),
        ("fraction to whole", upright(13.37), upright(48.0)),
        ("reversed", upright(13.37), inverted(13.37)),
        ("reversed and moved", inverted(-20.5), upright(333.3)),
        ("the farthest", upright(-48.0), upright(2880.0)),
    ];
    let mut rows = Vec::new();
    for (name, from, to) in changes {
        for hz in [60.0, 200.0, 997.0, 5003.0, 11_987.0] {
            let mut align = align(RATE, 0.001);
            align.set_shifts(&[from; 2]);
            align.reset();
            let input = sine(hz, RATE, 12_000);
            let (mut first, mut second) = (input.clone(), input.clone());
            align.process(&mut [&mut first[..6000], &mut second[..6000]]);
            align.set_shifts(&[to; 2]);
            align.process(&mut [&mut first[6000..], &mut second[6000..]]);
            assert!(!align.is_gliding());
            let ratio = assert_no_click(&format!("{name}, {hz} Hz"), &first[5000..], &input);
            rows.push(vec![hz, ratio]);
        }
    }
    let worst = rows.iter().map(|row| row[1]).fold(0.0, f64::max);
    println!("largest step over the input's own: {worst:.4}");
    write_csv("align_steps", "hz,step_ratio", &rows);
}

#[test]
fn silence_after_a_hit_is_silence() {
    let mut align = align(RATE, 0.005);
    align.set_shifts(&[upright(-7.77), inverted(100.5)]);
    let mut hit = Noise::new(5).samples(2400);
    hit.iter_mut()
        .enumerate()
        .for_each(|(n, x)| *x *= (-0.04 * n as f32).exp());
    let mut other = hit.clone();
    align.process(&mut [&mut hit, &mut other]);
    let (mut first, mut second) = (vec![0.0; 48_000], vec![0.0; 48_000]);
    align.process(&mut [&mut first, &mut second]);
    let everything = hit.iter().chain(&other).chain(&first).chain(&second);
    assert!(everything.into_iter().all(|y| *y == 0.0 || y.is_normal()));
    let tail = align.latency() + 101 + 32;
    assert!(
        first[tail..]
            .iter()
            .chain(&second[tail..])
            .all(|y| *y == 0.0)
    );
}
