//! The plugin's file, and instances made of it.

use crate::instance::Instance;
use crate::session::Session;
use anyhow::{Context, Result};
use clack_host::prelude::*;
use std::ffi::CString;
use std::path::Path;

/// A loaded CLAP library or bundle. Keep it as long as its instances, which hold on to it too.
pub struct Bundle {
    entry: PluginEntry,
    id: CString,
}

impl Bundle {
    /// Loads the library and finds the plugin in it.
    ///
    /// # Errors
    ///
    /// When there is no CLAP library at `path`, or no plugin in it.
    pub fn load(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        // SAFETY: loading a library runs its code; this one is our own.
        let entry = unsafe { PluginEntry::load(path) }
            .with_context(|| format!("cannot load {} as a CLAP", path.display()))?;
        let factory = entry
            .get_plugin_factory()
            .with_context(|| format!("{} makes no plugins", path.display()))?;
        let id = factory
            .plugin_descriptor(0)
            .and_then(|descriptor| descriptor.id())
            .with_context(|| format!("{} has no plugin in it", path.display()))?
            .to_owned();
        Ok(Self { entry, id })
    }

    pub(crate) fn entry(&self) -> &PluginEntry {
        &self.entry
    }

    /// Makes an instance and starts it.
    ///
    /// # Errors
    ///
    /// When the plugin refuses the session: an unknown layout, or a sample rate that it does not work at.
    pub fn open(&self, session: &Session) -> Result<Instance> {
        Instance::open(&self.entry, &self.id, session)
    }
}
