//! Align as the shell runs it: true latency, changes without clicks, silence that stays silent.

use plumbline_dsp::delay::align::{Align, AlignSetup, Place};

use crate::support::{Noise, assert_below, largest_step, sine, write_csv};

const RATE: f64 = 48_000.0;

fn align(sample_rate: f64, reach_s: f64) -> Align {
    Align::new(AlignSetup {
        sample_rate,
        channels: 2,
        reach_s,
    })
}

fn place(shift_samples: f64) -> Place {
    Place {
        shift_samples,
        inverted: false,
    }
}

fn turned_over(shift_samples: f64) -> Place {
    Place {
        shift_samples,
        inverted: true,
    }
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
        ("small", place(0.0), place(0.37)),
        ("a centimetre", place(0.0), place(1.4)),
        ("half a metre", place(0.0), place(70.0)),
        ("fraction to whole", place(13.37), place(48.0)),
        ("turned over", place(13.37), turned_over(13.37)),
        ("turned over and moved", turned_over(-20.5), place(333.3)),
        ("the farthest", place(-48.0), place(2880.0)),
    ];
    let mut rows = Vec::new();
    for (name, from, to) in changes {
        for hz in [60.0, 200.0, 997.0, 5003.0, 11_987.0] {
            let mut align = align(RATE, 0.001);
            align.set_places(&[from; 2]);
            align.reset();
            let input = sine(hz, RATE, 12_000);
            let (mut first, mut second) = (input.clone(), input.clone());
            align.process(&mut [&mut first[..6000], &mut second[..6000]]);
            align.set_places(&[to; 2]);
            align.process(&mut [&mut first[6000..], &mut second[6000..]]);
            assert!(!align.is_gliding());
            let ratio = largest_step(&first[5000..]) / largest_step(&input);
            rows.push(vec![hz, ratio]);
            assert_below(&format!("{name}, {hz} Hz"), ratio, 1.1);
        }
    }
    let worst = rows.iter().map(|row| row[1]).fold(0.0, f64::max);
    println!("largest step over the input's own: {worst:.4}");
    write_csv("align_steps", "hz,step_ratio", &rows);
}

#[test]
fn silence_after_a_hit_is_silence() {
    let mut align = align(RATE, 0.005);
    align.set_places(&[place(-7.77), turned_over(100.5)]);
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
