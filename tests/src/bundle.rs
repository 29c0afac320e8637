//! The plugin's file, and the sessions that can be opened on it.

use crate::instance::Instance;
use anyhow::{Context, Result};
use clack_host::prelude::*;
use std::ffi::CString;
use std::path::Path;

/// A loaded CLAP library or bundle. Keep it as long as its instances, which hold on to it too.
pub struct Bundle {
    entry: PluginEntry,
    id: CString,
}

/// What a host decides before it makes an instance work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// Samples a second.
    pub sample_rate: f64,
    /// Longest block, samples.
    pub max_block: u32,
    pub layout: Layout,
    /// An offline render: the analysis runs inline.
    pub offline: bool,
}

impl Default for Session {
    /// 48 kHz, blocks of up to 512, a pair with a stereo spot, in real time.
    fn default() -> Self {
        Self {
            sample_rate: 48_000.0,
            max_block: 512,
            layout: Layout::StereoSpotStereo,
            offline: false,
        }
    }
}

/// Buses of the plugin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    StereoSpotStereo,
    StereoSpotMono,
    MonoSpotMono,
    MonoSpotStereo,
    Stereo,
    Mono,
}

impl Layout {
    /// Every layout, in the plugin's order.
    pub const ALL: [Self; 6] = [
        Self::StereoSpotStereo,
        Self::StereoSpotMono,
        Self::MonoSpotMono,
        Self::MonoSpotStereo,
        Self::Stereo,
        Self::Mono,
    ];

    /// Main channels, and spot channels: 0 without a spot.
    pub fn channels(self) -> (usize, usize) {
        match self {
            Self::StereoSpotStereo => (2, 2),
            Self::StereoSpotMono => (2, 1),
            Self::MonoSpotMono => (1, 1),
            Self::MonoSpotStereo => (1, 2),
            Self::Stereo => (2, 0),
            Self::Mono => (1, 0),
        }
    }

    /// Its name in the plugin's list.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::StereoSpotStereo => "Stereo, stereo spot",
            Self::StereoSpotMono => "Stereo, mono spot",
            Self::MonoSpotMono => "Mono, mono spot",
            Self::MonoSpotStereo => "Mono, stereo spot",
            Self::Stereo => "Stereo",
            Self::Mono => "Mono",
        }
    }
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

    /// Makes an instance and starts it.
    ///
    /// # Errors
    ///
    /// When the plugin refuses the session: an unknown layout, or a sample rate that it does not work at.
    pub fn open(&self, session: &Session) -> Result<Instance> {
        Instance::open(&self.entry, &self.id, session)
    }
}
