//! CLAP: a drum that is picked in the window.

use crate::library::{open, run};
use crate::own_process::in_own_process;
use crate::picking::{BLOCK, Host, PACE, click_a_row, play_four_times};
use plumbline_hosting::{Instance, Layout, SavedMeasurement, Session, Window};
use std::thread::sleep;
use std::time::Duration;

impl Host for Instance {
    fn start(state: Option<&[u8]>) -> Self {
        let mut instance = open(Session {
            layout: Layout::StereoSpotMono,
            ..Session::default()
        });
        if let Some(state) = state {
            instance.load(state).expect("a state");
        }
        instance.set("measure", 1.0).expect("a switch");
        instance
    }

    fn play(&mut self, [first, second, kick]: [Vec<f32>; 3]) {
        run(self, &mut [first, second], &[kick], || {
            sleep(PACE);
            BLOCK
        });
        assert!(!self.wants_restart());
    }

    fn open_window(&mut self, window: &Window) {
        self.open_editor(window).expect("it opens");
    }

    fn wait(&mut self, time: Duration) {
        sleep(time);
    }

    fn save(&mut self) -> Vec<u8> {
        Self::save(self).expect("a state")
    }

    fn measurement(&mut self) -> SavedMeasurement {
        let saved = Self::measurement(self).expect("a state");
        saved.expect("a measurement")
    }

    fn drum(&mut self) -> String {
        self.text("drum").expect("a drum")
    }
}

#[test]
fn a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take() {
    in_own_process(
        "clap::picking::a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take",
        click_a_row::<Instance>,
    );
}

#[test]
fn the_drum_that_is_played_four_times_is_the_drum() {
    in_own_process(
        "clap::picking::the_drum_that_is_played_four_times_is_the_drum",
        || {
            play_four_times::<Instance>();
        },
    );
}
