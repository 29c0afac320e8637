//! The plugin built for release and packed as CLAP and VST3, as the commands load it.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow};
use plumbline_hosting::Bundle;

use super::targets::{self, WINDOWS_FROM_LINUX};
use super::workspace::{Metadata, cargo, root};
use super::{copy, module_info, packages};
use crate::failure::Outcome;

/// The package that becomes the plugin; its bundles carry this name.
pub const PACKAGE: &str = "plumbline";

/// The CLAP, built and packed, for use in this process.
pub fn built_clap() -> Outcome<PathBuf> {
    Ok(pack()?.join(format!("{PACKAGE}.clap")))
}

/// Builds the release library and packs it where it changed; returns the folder of the bundles.
pub fn pack() -> Outcome<PathBuf> {
    pack_for(Processors::This)
}

/// The same with one library for both processors of a Mac; runs on a Mac alone.
pub fn pack_universal() -> Outcome<PathBuf> {
    targets::add(&targets::MAC);
    pack_for(Processors::BothOfAMac)
}

/// The linker for Windows, as Debian packs it.
const WINDOWS_LINKER: [&str; 1] = ["gcc-mingw-w64-x86-64"];

/// The Windows library built on Linux and packed by hand, in a folder of its own: as VST3's and CLAP's headers lay down.
pub fn pack_for_windows() -> Outcome<PathBuf> {
    packages::install(&WINDOWS_LINKER);
    targets::add(&[WINDOWS_FROM_LINUX]);
    build(&["--target", WINDOWS_FROM_LINUX])?;
    let target = Metadata::read()?.target_dir();
    let library = target.join(format!("{WINDOWS_FROM_LINUX}/release/{PACKAGE}.dll"));
    let bundles = target.join("bundled-windows");
    let vst3 = bundles.join(format!("{PACKAGE}.vst3"));
    let inside = vst3.join("Contents/x86_64-win");
    fs::create_dir_all(&inside).with_context(|| format!("cannot make {}", inside.display()))?;
    copy::all(&library, &bundles.join(format!("{PACKAGE}.clap")))?;
    copy::all(&library, &inside.join(format!("{PACKAGE}.vst3")))?;
    module_info::write(&vst3)?;
    Ok(bundles)
}

/// Which processors a library is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Processors {
    This,
    BothOfAMac,
}

fn pack_for(processors: Processors) -> Outcome<PathBuf> {
    let target = Metadata::read()?.target_dir();
    let bundles = target.join("bundled");
    fs::create_dir_all(&bundles).with_context(|| format!("cannot make {}", bundles.display()))?;
    // Two commands at once must not pack over each other: the second one waits here.
    let lock =
        File::create(bundles.join(".lock")).context("cannot make the bundle folder's lock")?;
    lock.lock().context("cannot lock the bundle folder")?;
    let universal = processors == Processors::BothOfAMac;
    match processors {
        Processors::This => build(&[])?,
        Processors::BothOfAMac => targets::MAC
            .iter()
            .try_for_each(|target| build(&["--target", target]))?,
    }
    if universal || stale(&target, &bundles) {
        std::env::set_current_dir(root()).context("cannot enter the project's folder")?;
        nice_plug_xtask::bundle(&target, PACKAGE, &["--release".to_owned()], universal)?;
    }
    module_info::write(&bundles.join(format!("{PACKAGE}.vst3")))?;
    Ok(bundles)
}

fn build(for_target: &[&str]) -> Outcome {
    let built = cargo()
        .args(["build", "--release", "--package", PACKAGE])
        .args(for_target)
        .status()
        .context("cannot run cargo build")?;
    match built.success() {
        true => Ok(()),
        false => Err(anyhow!("the plugin does not build: see cargo's words above").into()),
    }
}

/// Writes the starting points beside the bundles, as files for the preset browsers of VST3 hosts; where they lie.
pub fn write_vst3_presets(bundles: &Path) -> Outcome<PathBuf> {
    let folder = bundles.join("presets");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let bundle = Bundle::load(bundles.join(format!("{PACKAGE}.clap")))?;
    for (name, content) in bundle.vst3_presets()? {
        let path = folder.join(format!("{name}.vstpreset"));
        fs::write(&path, content).with_context(|| format!("cannot write {}", path.display()))?;
    }
    Ok(folder)
}

/// True where a bundle is missing or older than the library it is made from.
fn stale(target: &Path, bundles: &Path) -> bool {
    let library = format!(
        "{}{PACKAGE}{}",
        std::env::consts::DLL_PREFIX,
        std::env::consts::DLL_SUFFIX
    );
    let built = modified(&target.join("release").join(library));
    ["clap", "vst3"].iter().any(|format| {
        let packed = modified(&bundles.join(format!("{PACKAGE}.{format}")));
        packed.is_none() || built.is_none() || packed < built
    })
}

/// When a file was written; of a folder, the newest file in it: rewriting a file does not touch its folder's own time.
fn modified(path: &Path) -> Option<std::time::SystemTime> {
    if path.is_dir() {
        let entries = fs::read_dir(path).ok()?.flatten();
        return entries.filter_map(|entry| modified(&entry.path())).max();
    }
    fs::metadata(path).and_then(|meta| meta.modified()).ok()
}
