//! A drum picked by hand: clicked in the kit map or played four times, kept by what it sounds like, found in another take.

use crate::library::{open, run};
use crate::own_process::{in_own_process, settled};
use crate::simulated_kit::{KICK_GAP, RATE, gap_samples, kicks, kit, kit_with};
use plumbline_hosting::{Instance, Layout, SavedMeasurement, Session, Window};
use std::thread::sleep;
use std::time::Duration;

/// Where things are in a window of the usual size, pixels: the kit map's second row, and the buttons of Placement.
pub const SECOND_ROW: (i16, i16) = (60, 453);
pub const PLACEMENT: (i16, i16) = (272, 27);
pub const FOUR_HITS: (i16, i16) = (185, 652);
/// Another take of the same drums, the overheads elsewhere, samples.
pub const ELSEWHERE: [f64; 2] = [-30.0, 18.0];

/// A click on a row counts once no second one has followed; with time to draw.
pub const ONE_CLICK: Duration = Duration::from_millis(800);

const BLOCK: usize = 480;
/// A block of 10 ms is played in this time: no faster than the analysis can follow.
const PACE: Duration = Duration::from_millis(3);

fn fresh() -> Instance {
    open(Session {
        layout: Layout::StereoSpotMono,
        ..Session::default()
    })
}

/// Plays a take; what is measured once it is over.
fn play(instance: &mut Instance, [first, second, kick, _]: [Vec<f32>; 4]) -> SavedMeasurement {
    run(instance, &mut [first, second], &[kick], || {
        sleep(PACE);
        BLOCK
    });
    rest(instance, 50)
}

/// Plays silent blocks.
fn rest(instance: &mut Instance, blocks: usize) -> SavedMeasurement {
    let quiet = || vec![0.0; blocks * BLOCK];
    run(instance, &mut [quiet(), quiet()], &[quiet()], || {
        sleep(PACE);
        BLOCK
    });
    let saved = instance.measurement().unwrap().expect("a measurement");
    assert_eq!(saved.dropped_frames, 0);
    saved
}

/// The kick is aligned because it was asked for, and is at this gap, samples.
pub fn check_kick(case: &str, saved: &SavedMeasurement, gap: f64) {
    let chosen = &saved.drums[usize::from(saved.chosen.expect("a drum"))];
    let found = gap_samples(chosen);
    println!("{case}: {}, {}, gap {found:.2}", saved.why, chosen.kind);
    assert_eq!((&*chosen.kind, &*saved.why), ("kick", "asked"), "{case}");
    assert!(
        (found - gap).abs() < 1.0,
        "{case}: {found} instead of {gap}"
    );
    let apart = (saved.applied.first_s - saved.applied.second_s) * RATE as f64;
    assert!((apart - found).abs() < 1e-3, "{case}: applied {apart}");
}

/// True when the session keeps what a picked drum sounds like.
fn keeps_a_drum(instance: &mut Instance) -> bool {
    let state = instance.save().unwrap();
    let text = String::from_utf8_lossy(&state);
    text.contains("picked_drum")
}

#[test]
fn a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take() {
    in_own_process(
        "picking::a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take",
        || {
            let mut instance = fresh();
            instance.set("measure", 1.0).unwrap();
            let before = play(&mut instance, kit());
            assert_eq!(before.why, "snare");
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            instance.open_editor(&window).expect("it opens");
            settled(&window);
            window.click(SECOND_ROW).expect("a click");
            sleep(ONE_CLICK);
            let saved = rest(&mut instance, 50);
            check_kick("clicked", &saved, KICK_GAP);
            assert_eq!(instance.text("drum").unwrap(), "Picked");
            assert!(!instance.wants_restart());
            instance.set("measure", 0.0).unwrap();
            rest(&mut instance, 5);
            let state = instance.save().unwrap();
            let mut other = fresh();
            other.load(&state).unwrap();
            other.set("measure", 1.0).unwrap();
            let found = play(&mut other, kit_with(1, ELSEWHERE));
            check_kick("another take", &found, ELSEWHERE[1]);
        },
    );
}

#[test]
fn the_drum_that_is_played_four_times_is_the_drum() {
    in_own_process(
        "picking::the_drum_that_is_played_four_times_is_the_drum",
        || {
            let mut instance = fresh();
            instance.set("measure", 1.0).unwrap();
            play(&mut instance, kit());
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            instance.open_editor(&window).expect("it opens");
            settled(&window);
            window.click(PLACEMENT).expect("a click");
            settled(&window);
            window.click(FOUR_HITS).expect("a click");
            rest(&mut instance, 20);
            let asked = settled(&window);
            play(&mut instance, kicks(3));
            let counted = settled(&window);
            assert!(counted != asked, "it is not counted down");
            assert!(!keeps_a_drum(&mut instance), "after three");
            let saved = play(&mut instance, kicks(1));
            assert!(keeps_a_drum(&mut instance), "after four");
            check_kick("played", &saved, KICK_GAP);
            assert_eq!(instance.text("drum").unwrap(), "Picked");
        },
    );
}
