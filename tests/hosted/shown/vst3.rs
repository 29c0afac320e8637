//! The VST3 host with a shown window.

use super::Host;
use crate::buffers::pointers::{Audio, BLOCK};
use crate::vst3::frame::Frame;
use crate::vst3::host::{Render, Vst3, bus};
use crate::vst3::window::{detach, open};
use plumbline_hosting::Window;
use vst3::Steinberg::{IPlugView, IPlugViewTrait, ViewRect, kResultOk};
use vst3::{ComPtr, ComWrapper};

/// A host that forgets to remove the view when it ends, unless it is told to close it.
pub struct Viewing {
    view: Option<ComPtr<IPlugView>>,
    frame: ComWrapper<Frame>,
    plugin: Vst3,
}

impl Host for Viewing {
    const NOT_WRITTEN: usize = 8;

    fn start(state: Option<&[u8]>) -> Self {
        let plugin = Vst3::new();
        if let Some(state) = state {
            assert_eq!(plugin.load(state), kResultOk);
        }
        plugin.start(Render::Realtime);
        let mut viewing = Self {
            view: None,
            frame: ComWrapper::new(Frame::default()),
            plugin,
        };
        // The header tells of what plays.
        viewing.set_output(0.0);
        viewing
    }

    fn save(&mut self) -> Vec<u8> {
        self.plugin.save()
    }

    fn open(&mut self, window: &Window) {
        self.view = Some(open(&self.plugin, &self.frame, window));
    }

    fn close(&mut self) {
        self.view.take().iter().for_each(detach);
    }

    fn resize(&mut self, window: &Window, (width, height): (u32, u32)) -> (u32, u32) {
        let view = self.view.as_ref().expect("it is open");
        let mut size = ViewRect {
            left: 0,
            top: 0,
            right: width as i32,
            bottom: height as i32,
        };
        // SAFETY: the pointer is valid.
        let result = unsafe { view.checkSizeConstraint(&mut size) };
        assert_eq!(result, kResultOk);
        let given = (size.right as u32, size.bottom as u32);
        window.resize(given).expect("a size");
        // SAFETY: the pointer is valid.
        assert_eq!(unsafe { view.onSize(&mut size) }, kResultOk);
        given
    }

    fn serve(&mut self, window: &Window) {
        self.frame.turn();
        if let Some((width, height)) = self.frame.take_wanted() {
            let size = (width as u32, height as u32);
            window.resize(size).expect("a size");
        }
    }

    fn restart(&mut self) {
        self.plugin.stop();
        self.plugin.start(Render::Realtime);
    }

    fn set_output(&mut self, level: f64) {
        let mut audio = Audio::silence();
        let (mut input, mut output) = (audio.inputs(), audio.outputs());
        let normalized = self.plugin.normalized("output", level);
        let result = self.plugin.process(
            BLOCK,
            &mut [bus(&mut input)],
            &mut [bus(&mut output)],
            &[("output", normalized)],
        );
        assert_eq!(result, kResultOk);
    }
}
