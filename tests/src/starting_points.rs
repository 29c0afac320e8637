//! The plugin's starting points as a CLAP host's preset browser finds and loads them.

use crate::bundle::Bundle;
use crate::instance::Instance;
use anyhow::{Context, Result, bail};
use clack_extensions::preset_discovery::prelude::*;
use clack_host::prelude::*;
use std::ffi::{CStr, CString};
use std::path::Path;

/// One starting point as the plugin tells of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StartingPoint {
    pub name: String,
    /// When to use it.
    pub about: String,
    /// What it is filed under: its mode.
    pub features: Vec<String>,
    /// Ids of the parameters that it sets.
    pub holds: Vec<String>,
    /// What the plugin knows it by.
    load_key: CString,
}

/// What a provider declares.
#[derive(Default)]
struct Indexer {
    in_the_plugin: bool,
    endings: Vec<String>,
}

impl IndexerImpl for Indexer {
    fn declare_filetype(&mut self, file_type: FileType<'_>) -> Result<(), HostError> {
        self.endings.extend(file_type.file_extension.map(words));
        Ok(())
    }

    fn declare_location(&mut self, location: LocationInfo<'_>) -> Result<(), HostError> {
        self.in_the_plugin |= matches!(location.location, Location::Plugin);
        Ok(())
    }

    fn declare_soundpack(&mut self, _soundpack: Soundpack<'_>) -> Result<(), HostError> {
        Ok(())
    }
}

/// What is told of presets.
#[derive(Default)]
struct Catalogue(Vec<StartingPoint>);

impl Catalogue {
    fn last(&mut self) -> Option<&mut StartingPoint> {
        self.0.last_mut()
    }
}

fn words(text: &CStr) -> String {
    text.to_string_lossy().into_owned()
}

impl MetadataReceiverImpl for Catalogue {
    fn on_error(&mut self, _error_code: i32, _error_message: Option<&CStr>) {}

    fn begin_preset(
        &mut self,
        name: Option<&CStr>,
        load_key: Option<&CStr>,
    ) -> Result<(), HostError> {
        self.0.push(StartingPoint {
            name: name.map(words).unwrap_or_default(),
            load_key: load_key.unwrap_or_default().to_owned(),
            ..StartingPoint::default()
        });
        Ok(())
    }

    fn add_plugin_id(&mut self, _plugin_id: UniversalPluginId<'_>) {}

    fn set_soundpack_id(&mut self, _soundpack_id: &CStr) {}

    fn set_flags(&mut self, _flags: Flags) {}

    fn add_creator(&mut self, _creator: &CStr) {}

    fn set_description(&mut self, description: &CStr) {
        if let Some(last) = self.last() {
            last.about = words(description);
        }
    }

    fn set_timestamps(&mut self, _creation: Option<Timestamp>, _modification: Option<Timestamp>) {}

    fn add_feature(&mut self, feature: &CStr) {
        if let Some(last) = self.last() {
            last.features.push(words(feature));
        }
    }

    fn add_extra_info(&mut self, key: &CStr, value: &CStr) {
        if let Some(last) = self.last().filter(|_| key == c"holds") {
            last.holds = words(value).split(' ').map(str::to_owned).collect();
        }
    }
}

impl Bundle {
    /// What the plugin tells a preset browser.
    ///
    /// # Errors
    ///
    /// When it has no presets in it.
    pub fn starting_points(&self) -> Result<Vec<StartingPoint>> {
        let factory: PresetDiscoveryFactory<'_> = self
            .entry()
            .get_factory()
            .context("the plugin tells of no presets")?;
        let descriptor = factory
            .get_provider_descriptor(0)
            .and_then(|descriptor| descriptor.id())
            .context("the plugin provides no presets")?;
        let host = HostInfo::new("Plumbline hosting", "Plumbline", "", "0.1.0")?;
        let mut provider =
            Provider::instantiate(Indexer::default(), self.entry(), descriptor, &host)?;
        let declared = provider.indexer();
        if !declared.in_the_plugin || declared.endings != ["plumbline"] {
            bail!("presets in the plugin, and files of .plumbline, should be declared");
        }
        let mut catalogue = Catalogue::default();
        provider.get_metadata(Location::Plugin, &mut catalogue);
        Ok(catalogue.0)
    }
}

impl Instance {
    /// Calls up a starting point as a preset browser does.
    ///
    /// # Errors
    ///
    /// The plugin's own words when it refuses.
    pub fn call_up(&mut self, start: &StartingPoint) -> Result<()> {
        self.load_preset(Location::Plugin, Some(&start.load_key))
    }

    /// Calls up a preset's file.
    ///
    /// # Errors
    ///
    /// As for [`call_up`](Self::call_up).
    pub fn call_up_file(&mut self, path: &Path) -> Result<()> {
        let path = CString::new(path.to_string_lossy().as_bytes())?;
        self.load_preset(Location::File { path: &path }, None)
    }

    fn load_preset(&mut self, location: Location<'_>, load_key: Option<&CStr>) -> Result<()> {
        let extension = self.extension::<PluginPresetLoad>()?;
        let loaded = extension.load_from_location(&self.plugin.plugin_handle(), location, load_key);
        self.serve_main_thread();
        match (loaded, self.requests(|requests| requests.preset_news())) {
            (Ok(()), Some(Ok(()))) => Ok(()),
            (Err(_), Some(Err(why))) => bail!("{why}"),
            (loaded, told) => bail!("the plugin answers {loaded:?} and tells the host {told:?}"),
        }
    }
}
