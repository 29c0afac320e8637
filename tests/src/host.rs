//! What the host does when the plugin calls it: requests are stored until the host serves them.

use clack_extensions::gui::{GuiSize, HostGui, HostGuiImpl};
use clack_extensions::latency::{HostLatency, HostLatencyImpl};
use clack_extensions::params::{
    HostParams, HostParamsImplMainThread, HostParamsImplShared, ParamClearFlags, ParamRescanFlags,
};
use clack_extensions::preset_discovery::preset_data::Location;
use clack_extensions::preset_discovery::{HostPresetLoad, HostPresetLoadImpl};
use clack_extensions::state::{HostState, HostStateImpl};
use clack_host::prelude::*;
use std::ffi::CStr;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};
use std::sync::{Mutex, PoisonError};

/// The host's side of one instance.
pub struct Host;

/// What the plugin has asked for.
#[derive(Default)]
pub struct Requests {
    pub restart: AtomicBool,
    pub callback: AtomicBool,
    /// How often the plugin said that there is something new to save.
    pub unsaved: AtomicU32,
    /// How often the plugin said that its latency is another one.
    pub latency_changes: AtomicU32,
    /// What the plugin has said last of a preset: loaded, or why not.
    preset_news: Mutex<Option<Result<(), String>>>,
    /// The plugin has said that its window has closed by itself.
    pub closed: AtomicBool,
    /// The size that the plugin wants for its window, pixels.
    pub wanted_size: Mutex<Option<(u32, u32)>>,
}

/// The main thread's handler.
pub struct MainThread<'a>(pub &'a Requests);

impl HostHandlers for Host {
    type Shared<'a> = Requests;
    type MainThread<'a> = MainThread<'a>;
    type AudioProcessor<'a> = ();

    fn declare_extensions(builder: &mut HostExtensions<'_, Self>, _requests: &Requests) {
        builder
            .register::<HostLatency>()
            .register::<HostParams>()
            .register::<HostPresetLoad>()
            .register::<HostState>()
            .register::<HostGui>();
    }
}

impl SharedHandler<'_> for Requests {
    fn request_restart(&self) {
        self.restart.store(true, Relaxed);
    }

    fn request_process(&self) {}

    fn request_callback(&self) {
        self.callback.store(true, Relaxed);
    }
}

impl<'a> MainThreadHandler<'a> for MainThread<'a> {}

impl HostLatencyImpl for MainThread<'_> {
    fn changed(&self) {
        self.0.latency_changes.fetch_add(1, Relaxed);
    }
}

impl HostStateImpl for MainThread<'_> {
    fn mark_dirty(&self) {
        self.0.unsaved.fetch_add(1, Relaxed);
    }
}

impl Requests {
    /// What the plugin has said of a preset since this was asked last.
    pub fn preset_news(&self) -> Option<Result<(), String>> {
        let mut news = self.preset_news.lock();
        news.as_mut().ok().and_then(|news| news.take())
    }

    fn tell_preset_news(&self, told: Result<(), String>) {
        let mut news = self
            .preset_news
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *news = Some(told);
    }
}

impl HostPresetLoadImpl for MainThread<'_> {
    fn on_error(
        &self,
        _location: Location<'_>,
        _load_key: Option<&CStr>,
        _os_error: i32,
        message: Option<&CStr>,
    ) {
        let why = message.unwrap_or_default().to_string_lossy();
        self.0.tell_preset_news(Err(why.into_owned()));
    }

    fn loaded(&self, _location: Location<'_>, _load_key: Option<&CStr>) {
        self.0.tell_preset_news(Ok(()));
    }
}

impl HostParamsImplShared for Requests {
    fn request_flush(&self) {}
}

/// Every size is granted; the owner of the window applies it.
impl HostGuiImpl for Requests {
    fn resize_hints_changed(&self) {}

    fn request_resize(&self, size: GuiSize) -> Result<(), HostError> {
        let wanted = self.wanted_size.lock();
        *wanted.unwrap_or_else(PoisonError::into_inner) = Some((size.width, size.height));
        Ok(())
    }

    fn request_show(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn request_hide(&self) -> Result<(), HostError> {
        Ok(())
    }

    fn closed(&self, _was_destroyed: bool) {
        self.closed.store(true, Relaxed);
    }
}

impl HostParamsImplMainThread for MainThread<'_> {
    fn rescan(&self, _flags: ParamRescanFlags) {}
    fn clear(&self, _parameter: ClapId, _flags: ParamClearFlags) {}
}
