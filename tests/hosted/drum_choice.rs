//! The drum that is aligned is chosen while the plugin runs: nothing restarts, and nothing is listened to anew.

use crate::hang::wait_until;
use crate::library::{open, run};
use crate::simulated_kit::{KICK_GAP, RATE, SNARE_GAP, kit};
use plumbline_hosting::{Instance, Layout, SavedMeasurement, Session};
use std::thread::sleep;
use std::time::{Duration, Instant};

fn gap(saved: &SavedMeasurement) -> f64 {
    saved
        .gap
        .as_ref()
        .map_or(f64::NAN, |gap| gap.attack_s * RATE as f64)
}

/// A few quiet blocks, until the reason is this one.
fn settle(instance: &mut Instance, why: &str) -> SavedMeasurement {
    let mut saved = SavedMeasurement::default();
    wait_until(Duration::from_millis(5), || {
        let mut quiet = [vec![0.0; 480], vec![0.0; 480]];
        run(instance, &mut quiet, &[], || 480);
        saved = instance.measurement().unwrap().unwrap();
        saved.why == why
    });
    saved
}

/// Set while measuring, and after Measure has gone off: the gap of the drum asked for, applied at once.
#[test]
fn another_drum_is_aligned_without_a_restart() {
    let mut instance = open(Session {
        layout: Layout::Stereo,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    let [first, second, ..] = kit();
    let mut main = [first, second];
    let begin = Instant::now();
    let mut played = 0;
    run(&mut instance, &mut main, &[], || {
        played += RATE / 100;
        let due = Duration::from_millis(played as u64 / 48);
        sleep(due.saturating_sub(begin.elapsed()));
        RATE / 100
    });
    let auto = settle(&mut instance, "snare");
    assert!((gap(&auto) - SNARE_GAP).abs() < 0.5, "{auto:?}");
    for measure in [1.0, 0.0] {
        instance.set("measure", measure).unwrap();
        for (drum, due) in [("Kick", KICK_GAP), ("Snare", SNARE_GAP)] {
            instance.set_text("drum", drum).unwrap();
            let saved = settle(&mut instance, "asked");
            // The answer to the drum before may still be on its way.
            let saved = match (gap(&saved) - due).abs() < 1.0 {
                true => saved,
                false => {
                    sleep(Duration::from_millis(200));
                    settle(&mut instance, "asked")
                }
            };
            println!(
                "measure {measure}, {drum}: gap {:.2}, {} hits",
                gap(&saved),
                saved.hits
            );
            assert!(
                (gap(&saved) - due).abs() < 1.0,
                "measure {measure}, {drum}: {}",
                gap(&saved)
            );
            let apart = (saved.applied.first_s - saved.applied.second_s) * RATE as f64;
            assert!((apart - gap(&saved)).abs() < 1e-3, "applied {apart}");
        }
    }
    assert!(!instance.wants_restart());
}

/// An instance that has measured the kit as an offline render, with some parameters set by their words.
fn measured(words: &[(&str, &str)]) -> Instance {
    let mut instance = open(Session {
        layout: Layout::StereoSpotMono,
        offline: true,
        ..Session::default()
    });
    for (id, word) in words {
        instance.set_text(id, word).unwrap();
    }
    instance.set("measure", 1.0).unwrap();
    let [first, second, kick, _] = kit();
    run(&mut instance, &mut [first, second], &[kick], || 480);
    instance.set("measure", 0.0).unwrap();
    let quiet = || vec![0.0; 480];
    run(&mut instance, &mut [quiet(), quiet()], &[quiet()], || 480);
    instance
}

/// Between the snare's gap and the kick's, and better for the sum than either.
#[test]
fn match_kit_applies_the_gap_of_the_whole_kit() {
    let mut instance = measured(&[("match", "Kit")]);
    let saved = instance.measurement().unwrap().unwrap();
    let kit = saved.kit.expect("a compromise");
    let apart = (saved.applied.first_s - saved.applied.second_s) * RATE as f64;
    let aim = kit.upright.gap_s * RATE as f64;
    println!(
        "whole kit {aim:.3} samples, {:.2} dB, as recorded {:.2} dB",
        kit.upright.loss_db, kit.recorded_db
    );
    assert!(
        (apart - aim).abs() < 1e-6,
        "applied {apart}, aimed at {aim}"
    );
    assert!(kit.upright.loss_db > kit.recorded_db, "{kit:?}");
    for drum in &saved.drums {
        let (Some(before), Some(after)) = (drum.mono_loss_recorded_db, drum.mono_loss_db) else {
            panic!("no loss of {drum:?}");
        };
        println!(
            "{}: {before:.2} dB as recorded, {after:.2} dB as corrected",
            drum.kind
        );
    }
}

/// What the mono sum of each drum loses is known after a session has been opened, and follows the amount.
#[test]
fn a_session_that_is_opened_knows_its_kit() {
    let mut first = measured(&[]);
    let before = first.measurement().unwrap().unwrap();
    let state = first.save().unwrap();
    let mut second = open(Session {
        layout: Layout::StereoSpotMono,
        offline: true,
        ..Session::default()
    });
    second.load(&state).unwrap();
    second.restart().unwrap();
    let loaded = second.measurement().unwrap().unwrap();
    assert_eq!(loaded.kit, before.kit);
    for (was, is) in before.drums.iter().zip(&loaded.drums) {
        let apart = was.mono_loss_db.unwrap() - is.mono_loss_db.unwrap();
        assert!(apart.abs() < 0.1, "{was:?} {is:?}");
    }
    second.set("amount", 0.0).unwrap();
    second.restart().unwrap();
    let none = second.measurement().unwrap().unwrap();
    for drum in &none.drums {
        assert_eq!(drum.mono_loss_db, drum.mono_loss_recorded_db, "{drum:?}");
    }
}
