//! What a host does with a window that is shown, in both formats: hides it, resizes it zoomed, and ends it in the wrong order.
//!
//! [`Host`] is what the tests need of a host, `clap` and `vst3` are the two; the other files are tests by subject. Called by
//! nobody; calls the small hosts of both formats.

mod clap;
mod endings;
mod hidden;
mod vst3;
mod zoom;

use crate::library::open;
use plumbline_hosting::{Session, Window};

/// One instance, and its editor inside a window of the host's.
pub trait Host {
    /// Bytes in front of a CLAP state, its length, that this format leaves out.
    const NOT_WRITTEN: usize;
    /// A working one; with this state where there is one.
    fn start(state: Option<&[u8]>) -> Self;
    fn save(&mut self) -> Vec<u8>;
    /// Opens the editor inside a window, which takes its size.
    fn open(&mut self, window: &Window);
    fn close(&mut self);
    /// Gives window and editor a size, as near to the wanted one as the editor allows; says which, pixels.
    fn resize(&mut self, window: &Window, wanted: (u32, u32)) -> (u32, u32);
    /// Does what the editor asked of the main thread; the window takes the size that it asked for.
    fn serve(&mut self, window: &Window);
    /// Stops the audio and starts it again.
    fn restart(&mut self);
    /// Sets the output, which is seen in the editor's header, dB.
    fn set_output(&mut self, level: f64);
}

/// A host's window in the corner of the screen.
fn window() -> Window {
    Window::open("Plumbline", (0, 0)).expect("a window")
}

/// A state in which the window was left with this size, points, and zoom.
fn left<H: Host>(size: (u32, u32), zoom: f32) -> Vec<u8> {
    let mut instance = open(Session::default());
    instance
        .set_window_state("light", size, zoom)
        .expect("a state");
    let state = instance.save().expect("a state");
    state[H::NOT_WRITTEN..].to_vec()
}

/// Tests of the calling file, which is named first, in both formats.
macro_rules! in_both_formats {
    ($file:literal; $($test:ident: $clap:ident, $vst3:ident;)*) => {$(
        #[test]
        fn $clap() {
            let name = concat!($file, stringify!($clap));
            crate::own_process::in_own_process(name, $test::<plumbline_hosting::Instance>);
        }

        #[test]
        fn $vst3() {
            let name = concat!($file, stringify!($vst3));
            crate::own_process::in_own_process(name, $test::<super::vst3::Viewing>);
        }
    )*};
}
use in_both_formats;
