//! A drum picked by hand: clicked in the kit map or played four times, kept by what it sounds like, found in another take.

use crate::own_process::settled;
use crate::simulated_kit::{KICK_GAP, RATE, gap_samples, kicks, kit, kit_with};
use plumbline_hosting::{SavedMeasurement, Screenshot, Window};
use std::time::Duration;

/// Where things are in a window of the usual size, pixels: the kit map's second row, and the buttons of Placement.
const SECOND_ROW: (i16, i16) = (60, 453);
const PLACEMENT: (i16, i16) = (272, 27);
const FOUR_HITS: (i16, i16) = (185, 652);
/// Another take of the same drums, the overheads elsewhere, samples.
const ELSEWHERE: [f64; 2] = [-30.0, 18.0];

/// A click on a row counts once no second one has followed; with time to draw.
const ONE_CLICK: Duration = Duration::from_millis(800);

pub const BLOCK: usize = 480;
/// A block of 10 ms is played in this time: no faster than the analysis can follow.
pub const PACE: Duration = Duration::from_millis(3);

/// An instance with Measure on, and its window, in a host of either format.
pub trait Host {
    /// A new one, with this state where there is one.
    fn start(state: Option<&[u8]>) -> Self;
    /// Plays first, second and the kick's microphone in blocks at an even pace; what is set in the window is passed on.
    fn play(&mut self, take: [Vec<f32>; 3]);
    /// Opens the window inside another, which outlives it.
    fn open_window(&mut self, window: &Window);
    /// Does nothing but what a host's main thread does.
    fn wait(&mut self, time: Duration);
    fn save(&mut self) -> Vec<u8>;
    fn measurement(&mut self) -> SavedMeasurement;
    /// The parameter in words.
    fn drum(&mut self) -> String;
}

/// Plays a take and a pause; what is measured then.
fn play(host: &mut impl Host, [first, second, kick, _]: [Vec<f32>; 4]) -> SavedMeasurement {
    host.play([first, second, kick]);
    rest(host, 50)
}

/// Plays silent blocks.
fn rest(host: &mut impl Host, blocks: usize) -> SavedMeasurement {
    host.play([(); 3].map(|()| vec![0.0; blocks * BLOCK]));
    let saved = host.measurement();
    assert_eq!(saved.dropped_frames, 0);
    saved
}

/// The kick is aligned because it was asked for, and is at this gap, samples.
fn check_kick(case: &str, saved: &SavedMeasurement, gap: f64) {
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
fn keeps_a_drum(host: &mut impl Host) -> bool {
    let state = host.save();
    String::from_utf8_lossy(&state).contains("picked_drum")
}

/// A row of the kit map is clicked; the session that is saved then is opened on another take.
pub fn click_a_row<H: Host>() {
    let window = Window::open("Plumbline", (0, 0)).expect("a window");
    let mut host = H::start(None);
    assert_eq!(play(&mut host, kit()).why, "snare");
    host.open_window(&window);
    settled(&window);
    window.click(SECOND_ROW).expect("a click");
    host.wait(ONE_CLICK);
    let saved = rest(&mut host, 50);
    check_kick("clicked", &saved, KICK_GAP);
    assert_eq!(host.drum(), "Picked");
    let mut other = H::start(Some(&host.save()));
    let found = play(&mut other, kit_with(1, ELSEWHERE));
    check_kick("another take", &found, ELSEWHERE[1]);
}

/// The next four strokes are asked for in Placement; what the window shows before the first and after the third.
pub fn play_four_times<H: Host>() -> [Screenshot; 2] {
    let window = Window::open("Plumbline", (0, 0)).expect("a window");
    let mut host = H::start(None);
    play(&mut host, kit());
    host.open_window(&window);
    settled(&window);
    window.click(PLACEMENT).expect("a click");
    settled(&window);
    window.click(FOUR_HITS).expect("a click");
    rest(&mut host, 20);
    let asked = settled(&window);
    play(&mut host, kicks(3));
    let counted = settled(&window);
    assert!(counted != asked, "it is not counted down");
    assert!(!keeps_a_drum(&mut host), "after three");
    let saved = play(&mut host, kicks(1));
    assert!(keeps_a_drum(&mut host), "after four");
    check_kick("played", &saved, KICK_GAP);
    assert_eq!(host.drum(), "Picked");
    [asked, counted]
}
