//! Opens windows for the host: size, resizing, and the toolkit's window inside the host's own.

use super::bounds::{every_zoom, limits, usable};
use super::host_handle::HostHandle;
use super::host_window::{HostWindow, ThreadMark};
use super::pacer;
use super::scene::Scene;
use super::window::Window;
use crate::session::WindowState;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::{LogicalSize, NativeSize, PhysicalSize, Size};
use nice_plug::editor::{Editor, HostMethods, ParentWindowHandle, ResizeHint, SpawnedEditor};
use nice_plug_egui::{EguiEditorState, EguiNiceSettings, create_egui_editor};
use std::error::Error;
use std::sync::Arc;

/// Opens windows for the host.
pub struct PlumblineEditor {
    scene: Scene,
}

impl PlumblineEditor {
    /// Of one instance.
    pub fn new(scene: Scene) -> Self {
        Self { scene }
    }

    fn state(&self) -> WindowState {
        usable(&self.scene.params.window)
    }
}

impl Editor for PlumblineEditor {
    type Handle = HostHandle;

    fn spawn(
        &self,
        parent: Option<ParentWindowHandle>,
        wait_for_parent: bool,
        fallback_scale_factor: Option<f64>,
        gui_context: GuiContext,
        host: Option<HostMethods>,
    ) -> Result<SpawnedEditor<HostHandle>, Box<dyn Error>> {
        let state = self.state();
        let size = match fallback_scale_factor {
            // There the toolkit makes points to pixels at a scale of 1, whatever the host has said: the window would begin in a
            // corner of the host's.
            Some(scale) if cfg!(target_os = "linux") => pixels(self.size(), scale).into(),
            _ => Size::from(LogicalSize::new(state.width, state.height)),
        };
        let mut settings = EguiNiceSettings::new()
            .with_tile("Plumbline")
            .with_resize_hint(every_zoom());
        if pacer::IS_NEEDED {
            settings = settings.with_repaint_poll_interval(pacer::NEVER);
        }
        if let Some(parent) = &parent {
            self.scene.display.host_window.set(parent);
        }
        let (mark, end) = ThreadMark::new();
        let editor = create_egui_editor(
            EguiEditorState::from_size(size, state.zoom),
            self.scene.display.repaint.clone(),
            settings,
            Window::new(self.scene.clone(), mark),
        );
        let editor = editor.ok_or("the toolkit made no editor")?;
        let SpawnedEditor { handle, window } = editor.spawn(
            parent,
            wait_for_parent,
            fallback_scale_factor,
            gui_context,
            host,
        )?;
        let (display, state) = (&self.scene.display, &self.scene.params.window);
        let handle = HostHandle::new(handle, Arc::clone(display), Arc::clone(state));
        let window = HostWindow::new(window, end);
        Ok(SpawnedEditor { handle, window })
    }

    fn size(&self) -> NativeSize<u32> {
        let state = self.state();
        let size = LogicalSize::new(state.width * state.zoom, state.height * state.zoom);
        NativeSize::from_size(size.into(), 1.0)
    }

    fn resize_hint(&self) -> ResizeHint {
        limits(self.state().zoom)
    }
}

/// Of a size that is given for a scale of 1.
fn pixels(size: NativeSize<u32>, scale: f64) -> PhysicalSize<u32> {
    let pixels = |side: u32| (f64::from(side) * scale).round() as u32;
    PhysicalSize::new(pixels(size.width), pixels(size.height))
}
