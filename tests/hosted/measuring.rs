//! From strokes to a correction: on the thread, inline, and through everything that a host does meanwhile.

use crate::hang::wait_until;
use crate::library::{open, run};
use crate::simulated_take::{EVERY, FARTHER, LATE, RATE, SimulatedTake};
use plumbline_hosting::{Instance, Layout, SavedMeasurement, Session, random_lengths};
use std::thread::sleep;
use std::time::{Duration, Instant};

fn render(layout: Layout) -> Instance {
    let mut instance = open(Session {
        max_block: 4_096,
        layout,
        offline: true,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    instance
}

pub fn saved(instance: &mut Instance) -> SavedMeasurement {
    instance.measurement().unwrap().unwrap()
}

/// What the thread has measured, once it has counted this many hits; the last state of things when it does not.
pub fn answer(instance: &mut Instance, hits: u32) -> SavedMeasurement {
    wait_until(Duration::from_millis(5), || saved(instance).hits == hits);
    // One block takes the answer over.
    let mut quiet = [vec![0.0; 480], vec![0.0; 480]];
    run(instance, &mut quiet, &[vec![0.0; 480]], || 480);
    saved(instance)
}

/// Renders a take with a mono spot and says what was measured.
fn measured(take: SimulatedTake) -> SavedMeasurement {
    let mut instance = render(Layout::StereoSpotMono);
    let [first, second, spot] = take.channels();
    run(&mut instance, &mut [first, second], &[spot], || 512);
    saved(&mut instance)
}

/// Plays in real time, in blocks of 10 ms.
pub fn play(instance: &mut Instance, take: SimulatedTake) {
    let [first, second, spot] = take.channels();
    let mut main = [first, second];
    let begin = Instant::now();
    let mut played = 0;
    run(instance, &mut main, &[spot], || {
        played += RATE / 100;
        sleep(Duration::from_millis(played as u64 / 48).saturating_sub(begin.elapsed()));
        RATE / 100
    });
}

pub fn measuring_instance() -> Instance {
    let mut instance = open(Session {
        layout: Layout::StereoSpotMono,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    instance
}

#[test]
fn a_render_measures_inline_and_the_correction_follows() {
    let mut instance = render(Layout::StereoSpotMono);
    let [first, second, spot] = FARTHER.channels();
    let mut main = [first, second];
    run(&mut instance, &mut main, &[spot], || 512);
    let saved = saved(&mut instance);
    let gap = saved.gap.expect("a gap").attack_s * RATE as f64;
    println!("gap {gap:.3} samples of 24, {} hits of 5", saved.hits);
    assert_eq!((saved.hits, saved.refused.total()), (5, 0));
    assert!((gap - 24.0).abs() < 0.3, "{gap}");
    assert_eq!((saved.drums.len(), saved.drums[0].hits), (1, 5));
    assert!((saved.applied.first_s * RATE as f64 - gap).abs() < 1e-6);
    assert_eq!((saved.applied.second_s, saved.applied.flip), (0.0, false));
    // After the last stroke both channels hold the same wave, but for their own noise and the hundredths of a sample.
    let tail = main[0].len() - 2 * EVERY..;
    let power = |c: &mut dyn Iterator<Item = f32>| c.map(|x| f64::from(x * x)).sum::<f64>();
    let difference = power(
        &mut main[0][tail.clone()]
            .iter()
            .zip(&main[1][tail.clone()])
            .map(|(a, b)| a - b),
    );
    let whole = power(&mut main[0][tail].iter().copied());
    assert!(difference < 0.05 * whole, "{difference} of {whole}");
}

#[test]
fn a_render_is_the_same_whatever_the_block_size_and_however_often() {
    let render = |lengths: &mut dyn FnMut() -> usize| {
        let mut instance = render(Layout::StereoSpotMono);
        let [first, second, spot] = FARTHER.channels();
        let mut main = [first, second];
        run(&mut instance, &mut main, &[spot], lengths);
        (main, instance.save().unwrap())
    };
    let once = render(&mut || 512);
    assert!(render(&mut || 512) == once, "a second time");
    for length in [1, 64, 4_096] {
        assert!(render(&mut || length) == once, "{length}");
    }
    assert!(render(&mut random_lengths(4_096, 3)) == once, "random");
}

#[test]
fn a_render_does_not_depend_on_what_was_played_before() {
    let session = Session {
        max_block: 4_096,
        layout: Layout::StereoSpotMono,
        offline: true,
        ..Session::default()
    };
    let render = |instance: &mut Instance| {
        let [first, second, spot] = FARTHER.channels();
        let mut main = [first, second];
        run(instance, &mut main, &[spot], || 512);
        main
    };
    let mut fresh = open(session);
    fresh.set("measure", 1.0).unwrap();
    fresh.restart().unwrap();
    let state = fresh.save().unwrap();
    let first_time = render(&mut fresh);
    fresh.load(&state).unwrap();
    fresh.restart().unwrap();
    assert!(render(&mut fresh) == first_time);
}

#[test]
fn a_spot_that_is_early_late_or_quiet_changes_nothing_between_the_overheads() {
    let plain = measured(FARTHER);
    let gap = |saved: &SavedMeasurement| saved.gap.clone().unwrap().attack_s * RATE as f64;
    let cases = [
        (
            "5 ms late",
            SimulatedTake {
                spot: LATE,
                ..FARTHER
            },
        ),
        (
            "5 ms early",
            SimulatedTake {
                first: FARTHER.first + LATE,
                second: FARTHER.second + LATE,
                ..FARTHER
            },
        ),
        (
            "20 dB quieter",
            SimulatedTake {
                spot_gain: 0.1,
                ..FARTHER
            },
        ),
    ];
    for (case, take) in cases {
        let saved = measured(take);
        let change = gap(&saved) - gap(&plain);
        println!("spot {case}: gap changes by {change:+.4} sample");
        assert_eq!(saved.hits, plain.hits, "{case}");
        assert!(change.abs() <= 0.02, "{case}: {change}");
        assert_eq!(saved.gap.unwrap().polarity, "same");
    }
}

#[test]
fn a_reversed_cable_is_seen_and_mended() {
    let saved = measured(SimulatedTake {
        second_sign: -1.0,
        ..FARTHER
    });
    assert_eq!(saved.gap.unwrap().polarity, "inverted");
    assert!(saved.applied.flip);
}

#[test]
fn a_single_channel_is_moved_to_the_spot_as_far_as_the_reach_goes() {
    let mut instance = render(Layout::MonoSpotMono);
    instance.set("reach", 3.0).unwrap();
    instance.restart().unwrap();
    let [first, _, spot] = FARTHER.channels();
    run(&mut instance, &mut [first], &[spot], || 512);
    let saved = saved(&mut instance);
    let lag = saved.spot_to_first.expect("a lag").attack_s;
    assert!(
        (lag * RATE as f64 - 250.0).abs() < 1.0,
        "{}",
        lag * RATE as f64
    );
    assert_eq!((saved.gap, saved.spot_to_second), (None, None));
    assert!((saved.applied.first_s + 0.003).abs() < 1e-9);
    assert!((saved.missing_reach_s - (lag - 0.003)).abs() < 1e-7);
}

#[test]
fn a_pair_without_a_spot_is_measured_too() {
    let mut instance = render(Layout::Stereo);
    let [first, second, _] = FARTHER.channels();
    run(&mut instance, &mut [first, second], &[], || 512);
    let saved = saved(&mut instance);
    let gap = saved.gap.expect("a gap").attack_s * RATE as f64;
    assert!((gap - 24.0).abs() < 0.5, "{gap}");
    assert_eq!(saved.spot_to_first, None);
}

#[test]
fn played_in_real_time_the_thread_answers() {
    let mut instance = measuring_instance();
    play(&mut instance, FARTHER);
    let saved = answer(&mut instance, 5);
    assert_eq!((saved.hits, saved.dropped_frames), (5, 0));
    assert!(instance.unsaved() > 0, "the session has something to save");
    let gap = saved.gap.unwrap().attack_s;
    assert_eq!(gap, measured(FARTHER).gap.unwrap().attack_s);
    // Off keeps it.
    instance.set("measure", 0.0).unwrap();
    play(
        &mut instance,
        SimulatedTake {
            second: 300,
            ..FARTHER
        },
    );
    let kept = answer(&mut instance, 5);
    assert_eq!((kept.hits, kept.gap.unwrap().attack_s), (5, gap));
}

#[test]
fn how_soon_the_thread_answers() {
    let mut instance = measuring_instance();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 2,
            ..FARTHER
        },
    );
    let [first, second, spot] = SimulatedTake {
        from: 2,
        strokes: 1,
        ..FARTHER
    }
    .channels();
    // The window of a hit ends 50 ms after it.
    let end = EVERY / 2 + LATE + RATE / 20;
    let mut main = [first[..end].to_vec(), second[..end].to_vec()];
    run(&mut instance, &mut main, &[spot[..end].to_vec()], || 480);
    let begin = Instant::now();
    let answered = wait_until(Duration::from_millis(1), || {
        let mut quiet = [vec![0.0; 48], vec![0.0; 48]];
        run(&mut instance, &mut quiet, &[vec![0.0; 48]], || 48);
        saved(&mut instance).hits >= 3
    });
    println!(
        "answer {} ms after the window of a hit ends",
        begin.elapsed().as_millis()
    );
    assert!(answered);
    assert_eq!(saved(&mut instance).hits, 3);
}

#[test]
fn a_click_on_measure_by_mistake_loses_nothing_and_the_first_new_hit_begins_anew() {
    let mut instance = measuring_instance();
    play(&mut instance, FARTHER);
    for measure in [0.0, 1.0, 0.0, 1.0] {
        instance.set("measure", measure).unwrap();
        play(
            &mut instance,
            SimulatedTake {
                strokes: 0,
                ..FARTHER
            },
        );
        assert_eq!(answer(&mut instance, 5).hits, 5);
    }
    play(
        &mut instance,
        SimulatedTake {
            second: 258,
            strokes: 2,
            ..FARTHER
        },
    );
    let anew = answer(&mut instance, 2);
    let gap = anew.gap.unwrap().attack_s * RATE as f64;
    assert_eq!(anew.hits, 2);
    assert!((gap - 8.0).abs() < 0.3, "{gap}");
}

#[test]
fn a_restart_for_more_reach_goes_on_refining() {
    let mut instance = measuring_instance();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 3,
            ..FARTHER
        },
    );
    instance.set("reach", 2.0).unwrap();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 0,
            ..FARTHER
        },
    );
    assert!(instance.restart_if_requested().unwrap());
    play(
        &mut instance,
        SimulatedTake {
            from: 3,
            strokes: 2,
            ..FARTHER
        },
    );
    assert_eq!(answer(&mut instance, 5).hits, 5);
}

#[test]
fn a_state_that_is_loaded_while_measuring_is_not_overwritten_by_older_hits() {
    let mut instance = measuring_instance();
    let empty = instance.save().unwrap();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 3,
            ..FARTHER
        },
    );
    assert_eq!(answer(&mut instance, 3).hits, 3);
    let three = instance.save().unwrap();
    instance.load(&empty).unwrap();
    instance.set("measure", 1.0).unwrap();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 0,
            ..FARTHER
        },
    );
    assert_eq!(saved(&mut instance).hits, 0);
    instance.load(&three).unwrap();
    play(
        &mut instance,
        SimulatedTake {
            strokes: 0,
            ..FARTHER
        },
    );
    assert_eq!(saved(&mut instance).hits, 3);
    play(
        &mut instance,
        SimulatedTake {
            strokes: 1,
            ..FARTHER
        },
    );
    assert_eq!(answer(&mut instance, 1).hits, 1);
}
