//! The audio path: latency, block splits, bypass, monitor, level, rates, bad input, reset.

use crate::library::{open, run};
use plumbline_dsp::delay::align::{Align, AlignSetup, ChannelShift};
use plumbline_hosting::{Instance, Layout, Session, noise, random_lengths};

/// An instance with blocks up to 4096 and some work to do: both channels moved, the second reversed.
fn at_work() -> Instance {
    let mut instance = open(Session {
        max_block: 4096,
        ..Session::default()
    });
    for (id, value) in [
        ("nudge_first", 0.37),
        ("nudge_second", -1.91),
        ("reach", 3.0),
        ("polarity", 2.0),
    ] {
        instance.set(id, value).unwrap();
    }
    instance.restart().unwrap();
    instance
}

/// What a pair of noises becomes, with changes of parameters at fixed samples of the stream.
fn travelled(instance: &mut Instance, lengths: impl FnMut() -> usize) -> Vec<Vec<f32>> {
    let mut lengths = lengths;
    let changes = [
        ("output", -6.0),
        ("monitor", 1.0),
        ("bypass", 1.0),
        ("correct", 0.0),
        ("monitor", 3.0),
        ("bypass", 0.0),
    ];
    let mut out = vec![Vec::new(), Vec::new()];
    for (index, (id, value)) in changes.into_iter().enumerate() {
        let seed = 10 * index as u64;
        let mut main = vec![noise(3_000, seed), noise(3_000, seed + 1)];
        let spot = vec![noise(3_000, seed + 2), noise(3_000, seed + 3)];
        instance.set(id, value).unwrap();
        run(instance, &mut main, &spot, &mut lengths);
        for (out, main) in out.iter_mut().zip(main) {
            out.extend(main);
        }
    }
    out
}

#[test]
fn an_impulse_appears_at_exactly_the_latency_in_every_layout_mode_and_reach() {
    for layout in Layout::ALL {
        for (mode, reach_ms) in [(0.0, 0.0), (0.0, 7.3), (1.0, 0.0), (1.0, 30.0)] {
            let mut instance = open(Session {
                layout,
                ..Session::default()
            });
            instance.set("mode", mode).unwrap();
            instance.set("reach", reach_ms).unwrap();
            instance.restart().unwrap();
            let latency = instance.latency() as usize;
            let (main_channels, spot_channels) = layout.channels();
            let mut impulse = vec![0.0; 4_000];
            impulse[100] = 1.0;
            let mut main = vec![impulse; main_channels];
            let spot = vec![vec![0.0; 4_000]; spot_channels];
            run(&mut instance, &mut main, &spot, || 512);
            for channel in main {
                let nonzero: Vec<_> = (0..4_000).filter(|&i| channel[i] != 0.0).collect();
                assert_eq!(
                    nonzero,
                    [100 + latency],
                    "{layout:?} mode {mode} reach {reach_ms}"
                );
                assert_eq!(channel[100 + latency], 1.0);
            }
        }
    }
}

#[test]
fn hosted_output_is_core_output_bit_for_bit() {
    let mut instance = at_work();
    // The plugin keeps its parameters in single precision.
    let mut plain = |id| f64::from(instance.get(id).unwrap() as f32);
    let (first_ms, second_ms, reach_ms) =
        (plain("nudge_first"), plain("nudge_second"), plain("reach"));
    let mut core = Align::new(AlignSetup {
        sample_rate: 48_000.0,
        channels: 2,
        reach_s: reach_ms / 1000.0,
    });
    core.set_shifts(&[
        ChannelShift {
            shift_samples: first_ms / 1000.0 * 48_000.0,
            inverted: false,
        },
        ChannelShift {
            shift_samples: second_ms / 1000.0 * 48_000.0,
            inverted: true,
        },
    ]);
    core.reset();
    let mut hosted = vec![noise(20_000, 1), noise(20_000, 2)];
    let mut direct = hosted.clone();
    let [first, second] = &mut direct[..] else {
        unreachable!()
    };
    core.process(&mut [first, second]);
    let spot = vec![noise(20_000, 3); 2];
    run(&mut instance, &mut hosted, &spot, || 100);
    assert!(hosted == direct);
}

#[test]
fn any_split_into_blocks_gives_the_same_output_bit_for_bit() {
    let whole = travelled(&mut at_work(), || 4_096);
    for length in [1, 7, 64, 480] {
        assert!(travelled(&mut at_work(), || length) == whole, "{length}");
    }
    assert!(travelled(&mut at_work(), random_lengths(4_096, 5)) == whole);
}

#[test]
fn bypass_is_the_input_late_by_the_latency_bit_for_bit_and_switches_without_a_click() {
    let mut instance = at_work();
    let latency = instance.latency() as usize;
    let tone: Vec<f32> = (0..48_000).map(|i| (i as f32 * 0.02).sin()).collect();
    let mut main = vec![tone.clone(), tone.clone()];
    let spot = vec![vec![0.0; 12_000]; 2];
    for (part, bypass) in [0.0, 1.0, 0.0, 1.0].into_iter().enumerate() {
        instance.set("bypass", bypass).unwrap();
        let part = part * 12_000..(part + 1) * 12_000;
        let mut block: Vec<_> = main.iter().map(|c| c[part.clone()].to_vec()).collect();
        run(&mut instance, &mut block, &spot, || 512);
        for (main, block) in main.iter_mut().zip(block) {
            main[part.clone()].copy_from_slice(&block);
        }
    }
    let settled = 36_000 + 2_000..48_000;
    for channel in main {
        let due = &tone[settled.start - latency..settled.end - latency];
        assert!(channel[settled.clone()] == *due);
        // A tone of 0.02 rad a sample moves 0.02 a sample at most; a fade between two such tones no more than twice
        // that. A click would be a step of its whole height.
        let step = |pair: &[f32]| (pair[1] - pair[0]).abs();
        let largest = channel[latency + 200..]
            .windows(2)
            .map(step)
            .fold(0.0, f32::max);
        assert!(largest < 0.04, "a step of {largest}");
    }
}

#[test]
fn off_and_on_have_the_same_latency_and_level() {
    let mut instance = at_work();
    let latency = instance.latency() as usize;
    // Without the uppermost octave, where a fractional delay has no business.
    let input: Vec<f32> = noise(24_001, 7)
        .windows(2)
        .map(|x| 0.5 * (x[0] + x[1]))
        .collect();
    let mut levels = [0.0, 1.0].map(|correct| {
        instance.set("correct", correct).unwrap();
        let mut main = vec![input.clone(), input.clone()];
        run(
            &mut instance,
            &mut main,
            &vec![vec![0.0; 24_000]; 2],
            || 512,
        );
        if correct == 0.0 {
            assert!(main[0][2_000 + latency..] == input[2_000..24_000 - latency]);
        }
        assert_eq!(instance.latency() as usize, latency);
        main.iter()
            .flat_map(|c| &c[4_000..])
            .map(|x| f64::from(x * x))
            .sum::<f64>()
    });
    levels
        .iter_mut()
        .for_each(|power| *power = 10.0 * power.log10());
    let difference_db = levels[1] - levels[0];
    assert!(difference_db.abs() < 0.05, "{difference_db} dB");
}

#[test]
fn the_monitor_sends_sum_difference_and_spot_to_the_ear_and_nothing_of_it_to_a_render() {
    let (first, second) = (noise(6_000, 1), noise(6_000, 2));
    let spot = vec![noise(6_000, 3), noise(6_000, 4)];
    for (offline, monitor) in [
        (false, 1.0),
        (false, 2.0),
        (false, 3.0),
        (true, 1.0),
        (true, 3.0),
    ] {
        let mut instance = open(Session {
            offline,
            ..Session::default()
        });
        instance.set("monitor", monitor).unwrap();
        instance.restart().unwrap();
        let latency = instance.latency() as usize;
        let mut main = vec![first.clone(), second.clone()];
        run(&mut instance, &mut main, &spot, || 512);
        for at in 2_000 - latency..6_000 - latency {
            let (a, b) = (first[at], second[at]);
            let due = match (offline, monitor) {
                (true, _) => [a, b],
                (_, 1.0) => [0.5 * a + 0.5 * b; 2],
                (_, 2.0) => [0.5 * a - 0.5 * b; 2],
                _ => [0.5 * spot[0][at] + 0.5 * spot[1][at]; 2],
            };
            let monitored = [main[0][at + latency], main[1][at + latency]];
            assert_eq!(monitored, due, "monitor {monitor} offline {offline}");
        }
    }
}

#[test]
fn the_output_level_arrives_where_it_is_set() {
    let mut instance = open(Session::default());
    instance.set("output", -6.0).unwrap();
    let mut main = vec![vec![1.0; 4_000]; 2];
    run(&mut instance, &mut main, &vec![vec![0.0; 4_000]; 2], || 512);
    assert!(
        (main[0][3_999] - 0.501_187_2).abs() < 1e-6,
        "{}",
        main[0][3_999]
    );
}

#[test]
fn what_is_no_audio_never_comes_out_and_does_not_stay() {
    let poison = [f32::NAN, f32::INFINITY, f32::NEG_INFINITY, f32::MAX, 1e-42];
    for layout in Layout::ALL {
        let (main_channels, spot_channels) = layout.channels();
        let mut instance = open(Session {
            layout,
            ..Session::default()
        });
        instance.set("output", 12.0).unwrap();
        instance.set("measure", 1.0).unwrap();
        instance.set("nudge_first", 1.234).unwrap();
        instance.set("monitor", 1.0).unwrap();
        let mut main = vec![noise(8_000, 1); main_channels];
        let mut spot = vec![noise(8_000, 2); spot_channels];
        for (index, value) in poison.into_iter().enumerate() {
            main.iter_mut().for_each(|c| c[100 * (index + 1)] = value);
            spot.iter_mut().for_each(|c| c[100 * (index + 1)] = value);
        }
        run(&mut instance, &mut main, &spot, || 512);
        assert!(main.iter().flatten().all(|x| x.is_finite()), "{layout:?}");
        assert!(main[0][4_000..].iter().any(|x| *x != 0.0));
        let mut quiet = vec![vec![0.0; 20_000]; main_channels];
        run(
            &mut instance,
            &mut quiet,
            &vec![vec![0.0; 20_000]; spot_channels],
            || 512,
        );
        assert!(quiet.iter().all(|c| c[10_000..].iter().all(|x| *x == 0.0)));
    }
}

#[test]
fn every_rate_from_1_to_768_khz_works_and_absurd_ones_are_refused() {
    for sample_rate in [
        1e3,
        1_234.567_8,
        8e3,
        11_025.0,
        44_100.0,
        48e3,
        88_200.0,
        96e3,
        192e3,
        384e3,
        768e3,
    ] {
        let mut instance = open(Session {
            sample_rate,
            ..Session::default()
        });
        instance.set("measure", 1.0).unwrap();
        instance.set("nudge_second", 3.21).unwrap();
        let latency = instance.latency();
        assert!(
            latency > 0 && f64::from(latency) < (0.01 * sample_rate).max(100.0),
            "{sample_rate}: {latency}"
        );
        let mut main = vec![noise(4_000, 1), noise(4_000, 2)];
        run(&mut instance, &mut main, &vec![noise(4_000, 3); 2], || 512);
        assert!(
            main.iter()
                .flatten()
                .all(|x| x.is_finite() && x.abs() < 2.0)
        );
    }
    for sample_rate in [10.0, 1e9] {
        let session = Session {
            sample_rate,
            ..Session::default()
        };
        assert!(
            crate::library::strict().open(&session).is_err(),
            "{sample_rate}"
        );
    }
}

#[test]
fn empty_blocks_change_nothing_but_the_parameters() {
    let mut instance = at_work();
    instance
        .process(&mut [&mut [], &mut []], &[&[], &[]])
        .unwrap();
    let whole = travelled(&mut at_work(), || 4_096);
    let mut turn = 0;
    let with_empty_ones = travelled(&mut instance, || {
        turn += 1;
        if turn % 2 == 0 { 0 } else { 300 }
    });
    assert!(with_empty_ones == whole);
    instance.set("amount", 25.0).unwrap();
    instance
        .process(&mut [&mut [], &mut []], &[&[], &[]])
        .unwrap();
    assert_eq!(instance.get("amount").unwrap(), 25.0);
}

#[test]
fn the_tail_covers_the_latency_and_the_longest_delay() {
    let mut instance = open(Session::default());
    let mut main = vec![vec![0.0; 64]; 2];
    run(&mut instance, &mut main, &vec![vec![0.0; 64]; 2], || 64);
    let longest_delay = 2_880;
    assert!(instance.tail().unwrap() >= instance.latency() + longest_delay);
}

#[test]
fn reset_silences_what_was_on_its_way() {
    let mut instance = at_work();
    let mut main = vec![noise(2_000, 1), noise(2_000, 2)];
    run(&mut instance, &mut main, &vec![vec![0.0; 2_000]; 2], || 512);
    instance.reset();
    let mut quiet = vec![vec![0.0; 4_000]; 2];
    run(
        &mut instance,
        &mut quiet,
        &vec![vec![0.0; 4_000]; 2],
        || 512,
    );
    assert!(quiet.iter().flatten().all(|x| *x == 0.0));
}
