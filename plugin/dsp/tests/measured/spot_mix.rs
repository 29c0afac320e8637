//! The spot in the print: as the ideal delay would add it, changes without clicks, the same in any blocks.

use plumbline_dsp::delay::spot_mix::{SpotMix, SpotMixSetup};
use plumbline_dsp::units::amplitude;

use crate::noise::Noise;
use crate::support::{
    assert_below, assert_no_click, db, inverted, sine, sine_at, upright, write_csv,
};

const RATE: f64 = 48_000.0;

fn spot_mix(sample_rate: f64, reach_s: f64) -> SpotMix {
    SpotMix::new(SpotMixSetup {
        sample_rate,
        reach_s,
    })
}

#[test]
fn what_is_added_is_the_ideally_delayed_spot() {
    // Largest difference from the ideal, against the added spot's own peak: at most -100 dB.
    let shifts = [
        upright(-47.63),
        upright(0.0),
        upright(33.37),
        inverted(212.5),
        inverted(2_640.9),
    ];
    let mut rows = Vec::new();
    for rate in [44_100.0, 48_000.0, 96_000.0] {
        for shift in shifts {
            for hz in [31.5, 60.0, 997.0, 5_003.0, 11_987.0, 19_997.0] {
                for level_db in [-48.0, 0.0, 12.0] {
                    let (hz, level) = (hz * rate / 48_000.0_f64.max(rate), amplitude(level_db));
                    let mut mix = spot_mix(rate, 0.002);
                    mix.set_shift(shift);
                    mix.set_gain(level);
                    mix.reset();
                    let spot = sine(hz, rate, 12_000);
                    let (mut first, mut second) = (vec![0.0; 12_000], vec![0.0; 12_000]);
                    mix.process(&mut [&mut first, &mut second], &spot);
                    assert!(first == second, "both channels alike");
                    let late = mix.latency() as f64 + shift.shift_samples;
                    let sign = if shift.inverted { -level } else { level };
                    let error = |(n, y): (usize, &f32)| {
                        (f64::from(*y) - sign * sine_at(hz, rate, n as f64 - late)).abs()
                    };
                    let errors = first.iter().enumerate().skip(5_000).map(error);
                    let error_db = db(errors.fold(0.0, f64::max) / level);
                    let case = format!("{rate} Hz, {shift:?}, {hz} Hz, {level_db} dB");
                    assert_below(&case, error_db, -100.0);
                    rows.push(vec![rate, shift.shift_samples, hz, level_db, error_db]);
                }
            }
        }
    }
    let worst = rows.iter().map(|row| row[4]).fold(f64::MIN, f64::max);
    println!("largest difference from the ideal spot: {worst:.1} dB");
    write_csv("spot_mix_error", "rate,shift,hz,level_db,error_db", &rows);
}

#[test]
fn changes_make_no_click() {
    // Largest step from sample to sample at most 1.1 times that of the louder of both states.
    let changes = [
        ("on", (upright(33.37), 0.0), (upright(33.37), 1.0)),
        ("off", (upright(33.37), 1.0), (upright(33.37), 0.0)),
        ("louder", (upright(33.37), 0.1), (upright(33.37), 1.0)),
        ("moved", (upright(33.37), 1.0), (upright(210.5), 1.0)),
        ("reversed", (upright(33.37), 1.0), (inverted(33.37), 1.0)),
        ("all at once", (inverted(-20.5), 0.3), (upright(333.3), 1.0)),
        (
            "on elsewhere",
            (upright(-20.5), 0.0),
            (inverted(2_000.0), 1.0),
        ),
    ];
    let mut rows = Vec::new();
    for (name, from, to) in changes {
        for hz in [60.0, 200.0, 997.0, 5_003.0, 11_987.0] {
            let mut mix = spot_mix(RATE, 0.001);
            mix.set_shift(from.0);
            mix.set_gain(from.1);
            mix.reset();
            let spot = sine(hz, RATE, 16_000);
            let (mut first, mut second) = (vec![0.0; 16_000], vec![0.0; 16_000]);
            mix.process(
                &mut [&mut first[..6_000], &mut second[..6_000]],
                &spot[..6_000],
            );
            mix.set_shift(to.0);
            mix.set_gain(to.1);
            mix.process(
                &mut [&mut first[6_000..], &mut second[6_000..]],
                &spot[6_000..],
            );
            let ratio = assert_no_click(&format!("{name}, {hz} Hz"), &first[5_000..], &spot);
            rows.push(vec![hz, ratio]);
        }
    }
    let worst = rows.iter().map(|row| row[1]).fold(0.0, f64::max);
    println!("largest step over the spot's own: {worst:.4}");
    write_csv("spot_mix_steps", "hz,step_ratio", &rows);
}

#[test]
fn blocks_of_1_to_512_give_the_same_bits() {
    const CHANGE_EVERY: usize = 4_800;
    let run = |block: usize| {
        let mut mix = spot_mix(RATE, 0.005);
        let mut noise = Noise::new(7);
        let spot = noise.samples(5 * CHANGE_EVERY);
        let (mut first, mut second) = (noise.samples(spot.len()), noise.samples(spot.len()));
        let gains = [1.0, 0.4, 0.0, 2.0, 0.0];
        for (part, gain) in gains.into_iter().enumerate() {
            let range = part * CHANGE_EVERY..(part + 1) * CHANGE_EVERY;
            mix.set_gain(gain);
            mix.set_shift(inverted(17.3 * part as f64));
            let mains = first[range.clone()].chunks_mut(block);
            let mains = mains.zip(second[range.clone()].chunks_mut(block));
            for ((first, second), spot) in mains.zip(spot[range].chunks(block)) {
                mix.process(&mut [first, second], spot);
            }
        }
        [first, second].concat()
    };
    let whole = run(CHANGE_EVERY);
    for block in [1, 2, 3, 16, 63, 64, 65, 128, 200, 255, 256, 511, 512] {
        assert!(run(block) == whole, "blocks of {block}");
    }
}

#[test]
fn silence_after_a_hit_is_silence() {
    let mut mix = spot_mix(RATE, 0.005);
    mix.set_shift(inverted(100.5));
    mix.set_gain(1.0);
    mix.reset();
    let mut spot = Noise::new(5).samples(48_000);
    spot.iter_mut()
        .enumerate()
        .for_each(|(n, x)| *x *= (-0.04 * n as f32).exp());
    spot[2_400..].fill(0.0);
    let mut first = vec![0.0; 48_000];
    mix.process(&mut [&mut first], &spot);
    assert!(first.iter().all(|y| *y == 0.0 || y.is_normal()));
    let tail = 2_400 + mix.latency() + 101 + 32;
    assert!(first[tail..].iter().all(|y| *y == 0.0));
}
