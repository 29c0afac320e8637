//! The CLAP host with a shown window.

use super::Host;
use crate::library::open;
use plumbline_hosting::{Instance, Layout, Session, Window};

impl Host for Instance {
    const NOT_WRITTEN: usize = 0;

    fn start(state: Option<&[u8]>) -> Self {
        let mut instance = open(Session {
            layout: Layout::Stereo,
            ..Session::default()
        });
        if let Some(state) = state {
            instance.load(state).expect("a state");
        }
        // The header tells of what plays.
        instance.set_output(0.0);
        instance
    }

    fn save(&mut self) -> Vec<u8> {
        Self::save(self).expect("a state")
    }

    fn open(&mut self, window: &Window) {
        self.open_editor(window).expect("it opens");
    }

    fn close(&mut self) {
        self.close_editor();
    }

    fn resize(&mut self, window: &Window, wanted: (u32, u32)) -> (u32, u32) {
        self.resize_editor(window, wanted).expect("a size")
    }

    fn serve(&mut self, window: &Window) {
        self.serve_editor(window).expect("it is attended to");
    }

    fn restart(&mut self) {
        Self::restart(self).expect("it starts again");
    }

    fn set_output(&mut self, level: f64) {
        self.set("output", level).expect("a level");
        let (mut first, mut second) = ([0.0; 64], [0.0; 64]);
        self.process(&mut [&mut first, &mut second], &[])
            .expect("a block");
    }
}
