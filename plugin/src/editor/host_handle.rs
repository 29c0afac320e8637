//! The host's hold on an open window: the toolkit's, with limits that grow with the zoom, and a pacer once it is shown.
//!
//! The toolkit keeps the limits that a window was opened with, and counts them without the zoom: at 300 % a host that
//! resizes would press the pages into a third of what they are drawn for.

use super::bounds::{limits, usable};
use super::host_window::HostWindow;
use super::pacer::{self, Pacer};
use super::scene::EditorDisplay;
use crate::exchange::Display;
use crate::session::WindowState;
use nice_plug::editor::EditorHandle;
use nice_plug::editor::ParentWindowHandle;
use nice_plug::editor::dpi::NativeSize;
use nice_plug_egui::EguiEditorHandle;
use std::sync::{Arc, OnceLock, RwLock};

/// An open window, as the host asks for things.
pub struct HostHandle {
    toolkit: EguiEditorHandle,
    display: Arc<EditorDisplay>,
    /// The zoom as it is now.
    state: Arc<RwLock<WindowState>>,
    /// From the first time that it is shown; none where it is not needed, or the system has no thread left.
    pacer: OnceLock<Option<Pacer>>,
}

impl HostHandle {
    /// Of a window that the toolkit has opened.
    pub fn new(
        toolkit: EguiEditorHandle,
        display: Arc<EditorDisplay>,
        state: Arc<RwLock<WindowState>>,
    ) -> Self {
        Self {
            toolkit,
            display,
            state,
            pacer: OnceLock::new(),
        }
    }
}

type Error = <EguiEditorHandle as EditorHandle>::Error;

impl EditorHandle for HostHandle {
    type Window = HostWindow;
    type Error = Error;

    fn run_until_closed(window: HostWindow) -> Result<(), Error> {
        window.run_until_closed()
    }

    fn set_parent(&self, parent: ParentWindowHandle, window: &HostWindow) -> Result<(), Error> {
        self.display.host_window.set(&parent);
        self.toolkit.set_parent(parent, window.toolkit())
    }

    fn show(&self, window: &HostWindow) -> Result<(), Error> {
        self.toolkit.show(window.toolkit())?;
        self.pacer.get_or_init(|| {
            let start = || Pacer::start(window.toolkit().waker(), Arc::clone(&self.display)).ok();
            pacer::IS_NEEDED.then(start).flatten()
        });
        Ok(())
    }

    fn hide(&self, window: &HostWindow) -> Result<(), Error> {
        self.toolkit.hide(window.toolkit())
    }

    fn set_size(&self, size: NativeSize<u32>, window: &HostWindow) -> Result<(), Error> {
        self.toolkit.set_size(size, window.toolkit())
    }

    fn host_main_thread_callback(&self, window: &HostWindow) {
        self.toolkit.host_main_thread_callback(window.toolkit());
    }

    fn adjust_size(&self, wanted: NativeSize<u32>, window: &HostWindow) -> Option<NativeSize<u32>> {
        let now = window.size();
        let size = NativeSize::from_logical_or_physical(now.logical, now.physical);
        let limits = limits(usable(&self.state).zoom);
        Some(limits.adjust_size(wanted, size, now.scale_factor))
    }

    fn set_fallback_scale_factor(&self, scale: f64, window: &HostWindow) -> Result<(), Error> {
        self.toolkit
            .set_fallback_scale_factor(scale, window.toolkit())
    }

    fn state_changed(&self) {
        self.display.request_repaint();
    }

    fn param_value_changed(&self, _id: &str, _value: f32) {
        self.display.request_repaint();
    }

    fn param_modulation_changed(&self, _id: &str, _offset: f32) {
        self.display.request_repaint();
    }
}
