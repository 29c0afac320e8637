//! The drum that is aligned is chosen while the plugin runs: nothing restarts, and nothing is listened to anew.

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
    let begin = Instant::now();
    loop {
        let mut quiet = [vec![0.0; 480], vec![0.0; 480]];
        run(instance, &mut quiet, &[], || 480);
        let saved = instance.measurement().unwrap().unwrap();
        if saved.why == why || begin.elapsed() > Duration::from_secs(5) {
            return saved;
        }
        sleep(Duration::from_millis(5));
    }
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
