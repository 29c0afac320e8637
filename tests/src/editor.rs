//! The plugin's editor as a host opens it: inside a window of the host's.

use crate::instance::Instance;
use clack_extensions::gui::PluginGui;
use std::sync::atomic::Ordering::Relaxed;

impl Instance {
    /// Leaves the closing of the editor to the plugin's end.
    pub fn forget_editor(&mut self) {
        self.editor_is_open = false;
    }

    /// True when the editor has said that it has closed by itself. It is still to be closed.
    pub fn editor_has_gone(&mut self) -> bool {
        self.serve_main_thread();
        self.requests(|requests| requests.closed.swap(false, Relaxed))
    }

    /// Closes the editor if it is open. Its window must still be there.
    pub fn close_editor(&mut self) {
        if !std::mem::take(&mut self.editor_is_open) {
            return;
        }
        if let Ok(gui) = self.extension::<PluginGui>() {
            gui.destroy(&self.plugin.plugin_handle());
        }
    }
}

#[cfg(target_os = "linux")]
mod x11 {
    use super::{Instance, PluginGui};
    use crate::window::Window;
    use anyhow::{Context, Result};
    use clack_extensions::gui::{self, GuiApiType, GuiConfiguration, GuiSize};

    impl Instance {
        /// Opens the editor in a window, which takes the editor's size. The window must outlive the editor.
        pub fn open_editor(&mut self, window: &Window) -> Result<()> {
            let gui = self.extension::<PluginGui>()?;
            let plugin = self.plugin.plugin_handle();
            let embedded = GuiConfiguration {
                api_type: GuiApiType::X11,
                is_floating: false,
            };
            gui.create(&plugin, embedded)?;
            self.editor_is_open = true;
            let size = gui.get_size(&plugin).context("the editor has no size")?;
            window.resize((size.width, size.height))?;
            let parent = gui::Window::from_x11_handle(window.id().into());
            // SAFETY: the window stays: its owner was told so.
            unsafe { gui.set_parent(&plugin, parent)? };
            gui.show(&plugin)?;
            Ok(())
        }

        /// Gives window and editor a size, as near to the wanted one as the editor allows; says which, pixels.
        pub fn resize_editor(
            &mut self,
            window: &Window,
            (width, height): (u32, u32),
        ) -> Result<(u32, u32)> {
            let gui = self.extension::<PluginGui>()?;
            let plugin = self.plugin.plugin_handle();
            let wanted = GuiSize { width, height };
            let size = gui.adjust_size(&plugin, wanted).unwrap_or(wanted);
            window.resize((size.width, size.height))?;
            gui.set_size(&plugin, size)?;
            Ok((size.width, size.height))
        }

        /// Hides the open editor.
        pub fn hide_editor(&mut self) -> Result<()> {
            let gui = self.extension::<PluginGui>()?;
            Ok(gui.hide(&self.plugin.plugin_handle())?)
        }

        /// Shows it again.
        pub fn show_editor(&mut self) -> Result<()> {
            let gui = self.extension::<PluginGui>()?;
            Ok(gui.show(&self.plugin.plugin_handle())?)
        }

        /// Does what the plugin asked of the main thread, and gives the window the size that the editor asked for.
        pub fn serve_editor(&mut self, window: &Window) -> Result<()> {
            self.serve_main_thread();
            let wanted = self.requests(|requests| requests.wanted_size.lock().ok()?.take());
            wanted.map_or(Ok(()), |size| window.resize(size))
        }
    }
}

#[cfg(windows)]
mod win32 {
    use super::{Instance, PluginGui};
    use anyhow::{Context, Result};
    use clack_extensions::gui::{self, GuiApiType, GuiConfiguration};
    use std::ffi::c_void;

    impl Instance {
        /// Opens the editor in a window of this process; says the size that it wants, pixels.
        ///
        /// # Safety
        /// `window` is a window's handle, and the window outlives the editor.
        pub unsafe fn open_editor(&mut self, window: *mut c_void) -> Result<(u32, u32)> {
            let gui = self.extension::<PluginGui>()?;
            let plugin = self.plugin.plugin_handle();
            let embedded = GuiConfiguration {
                api_type: GuiApiType::WIN32,
                is_floating: false,
            };
            gui.create(&plugin, embedded)?;
            self.editor_is_open = true;
            let size = gui.get_size(&plugin).context("the editor has no size")?;
            // SAFETY: the caller's.
            unsafe {
                let parent = gui::Window::from_win32_hwnd(window);
                gui.set_parent(&plugin, parent)?;
            }
            gui.show(&plugin)?;
            Ok((size.width, size.height))
        }
    }
}
