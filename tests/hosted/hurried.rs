//! Hosts that render faster than the sound and do not say so: what cannot be measured in time is left out, and counted.

use crate::library::{release, run};
use crate::measuring::{answer, measuring_instance, play, saved};
use crate::simulated_take::{EVERY, FARTHER, SimulatedTake};
use plumbline_hosting::{Layout, Session};
use std::thread::sleep;
use std::time::Duration;

#[test]
fn a_host_that_runs_away_loses_frames_and_nothing_else() {
    let mut instance = measuring_instance();
    for _ in 0..4 {
        let [first, second, spot] = SimulatedTake {
            strokes: 10,
            ..FARTHER
        }
        .channels();
        run(&mut instance, &mut [first, second], &[spot], || 512);
    }
    let hurried = saved(&mut instance);
    println!(
        "{} of {} frames dropped at full speed",
        hurried.dropped_frames,
        44 * EVERY
    );
    // What is still in the ring is measured meanwhile.
    sleep(Duration::from_millis(600));
    let before = saved(&mut instance).hits;
    play(
        &mut instance,
        SimulatedTake {
            // The first behind the gap and the last before the end are without a neighbour; strokes that were heard before would
            // say nothing new.
            from: 100,
            strokes: 5,
            ..FARTHER
        },
    );
    let after = answer(&mut instance, before + 3);
    assert_eq!(after.dropped_frames, hurried.dropped_frames);
    assert!(after.hits >= before + 2, "{} after {before}", after.hits);
}

/// Blocks of 512 samples in 0.8 s of audio: what a host renders ahead at once.
const AHEAD: usize = 75;

#[test]
fn a_render_in_bursts_twice_as_fast_as_the_sound_loses_nothing() {
    let session = Session {
        layout: Layout::StereoSpotMono,
        ..Session::default()
    };
    let mut instance = release().open(&session).unwrap();
    instance.set("measure", 1.0).unwrap();
    let [first, second, spot] = SimulatedTake {
        strokes: 30,
        ..FARTHER
    }
    .channels();
    let mut blocks = 0;
    run(&mut instance, &mut [first, second], &[spot], || {
        if blocks % AHEAD == AHEAD - 1 {
            sleep(Duration::from_millis(400));
        }
        blocks += 1;
        512
    });
    let saved = answer(&mut instance, 29);
    println!("{} hits, {} frames lost", saved.hits, saved.dropped_frames);
    assert_eq!(saved.dropped_frames, 0);
}
