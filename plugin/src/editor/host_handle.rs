//! The host's hold on an open window: the toolkit's, with limits that grow with the zoom.
//!
//! The toolkit keeps the limits that a window was opened with, and counts them without the zoom: at 300 % a host that
//! resizes would press the pages into a third of what they are drawn for.

use super::bounds::{limits, usable};
use crate::session::WindowState;
use nice_plug::editor::EditorHandle;
use nice_plug::editor::ParentWindowHandle;
use nice_plug::editor::dpi::NativeSize;
use nice_plug_egui::EguiEditorHandle;
use std::sync::{Arc, RwLock};

/// An open window, as the host asks for things.
pub struct HostHandle {
    toolkit: EguiEditorHandle,
    /// The zoom as it is now.
    state: Arc<RwLock<WindowState>>,
}

impl HostHandle {
    /// Of a window that the toolkit has opened.
    pub fn new(toolkit: EguiEditorHandle, state: Arc<RwLock<WindowState>>) -> Self {
        Self { toolkit, state }
    }
}

type Window = <EguiEditorHandle as EditorHandle>::Window;
type Error = <EguiEditorHandle as EditorHandle>::Error;

impl EditorHandle for HostHandle {
    type Window = Window;
    type Error = Error;

    fn run_until_closed(window: Window) -> Result<(), Error> {
        EguiEditorHandle::run_until_closed(window)
    }

    fn set_parent(&self, parent: ParentWindowHandle, window: &Window) -> Result<(), Error> {
        self.toolkit.set_parent(parent, window)
    }

    fn show(&self, window: &Window) -> Result<(), Error> {
        self.toolkit.show(window)
    }

    fn hide(&self, window: &Window) -> Result<(), Error> {
        self.toolkit.hide(window)
    }

    fn set_size(&self, size: NativeSize<u32>, window: &Window) -> Result<(), Error> {
        self.toolkit.set_size(size, window)
    }

    fn host_main_thread_callback(&self, window: &Window) {
        self.toolkit.host_main_thread_callback(window);
    }

    fn adjust_size(&self, wanted: NativeSize<u32>, window: &Window) -> Option<NativeSize<u32>> {
        let now = window.size();
        let size = NativeSize::from_logical_or_physical(now.logical, now.physical);
        let limits = limits(usable(&self.state).zoom);
        Some(limits.adjust_size(wanted, size, now.scale_factor))
    }

    fn set_fallback_scale_factor(&self, scale: f64, window: &Window) -> Result<(), Error> {
        self.toolkit.set_fallback_scale_factor(scale, window)
    }

    fn state_changed(&self) {
        self.toolkit.state_changed();
    }

    fn param_value_changed(&self, id: &str, value: f32) {
        self.toolkit.param_value_changed(id, value);
    }

    fn param_modulation_changed(&self, id: &str, offset: f32) {
        self.toolkit.param_modulation_changed(id, offset);
    }
}
