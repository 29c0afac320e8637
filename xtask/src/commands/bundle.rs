//! `cargo xtask bundle`: builds the plugin and packs it as CLAP and VST3.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;

use crate::failure::Outcome;
use crate::project::copy;
use crate::project::plugin::{self, PACKAGE};

/// Options of `cargo xtask bundle`.
#[derive(Args, Clone, Copy, Debug)]
pub struct BundleOptions {
    /// Also copy both into your own plugin folders, replacing an older version there
    #[arg(long)]
    install: bool,
}

/// One packed format and where hosts look for it.
struct Packed {
    path: PathBuf,
    own_folder: PathBuf,
    shared_folder: PathBuf,
}

/// Builds, packs, says where to put it.
pub fn run(options: BundleOptions) -> Outcome {
    let folder = plugin::pack()?;
    for packed in formats(&folder) {
        println!("{}", packed.path.display());
        println!(
            "  hosts look in {} (yours) and {} (everyone's)",
            packed.own_folder.display(),
            packed.shared_folder.display()
        );
        if options.install {
            println!("  installed: {}", install(&packed)?.display());
        }
    }
    let presets = plugin::write_vst3_presets(&folder)?;
    let own_presets = preset_folder();
    println!("{}", presets.display());
    println!("  VST3 hosts look for presets in {}", own_presets.display());
    if options.install {
        copy::all(&presets, &own_presets)?;
        println!("  installed: {}", own_presets.display());
    }
    if !options.install {
        println!("copy them there, or run: cargo xtask bundle --install");
    }
    Ok(())
}

fn formats(folder: &Path) -> Vec<Packed> {
    [("clap", "CLAP"), ("vst3", "VST3")]
        .into_iter()
        .map(|(extension, name)| {
            let (own_folder, shared_folder) = host_folders(extension, name);
            Packed {
                path: folder.join(format!("{PACKAGE}.{extension}")),
                own_folder,
                shared_folder,
            }
        })
        .collect()
}

/// The user's and the machine's plugin folder, as the CLAP and VST3 headers lay down.
fn host_folders(extension: &str, name: &str) -> (PathBuf, PathBuf) {
    let home = std::env::home_dir().unwrap_or_default();
    match std::env::consts::OS {
        "macos" => {
            let folder = Path::new("Library/Audio/Plug-Ins").join(name);
            (home.join(&folder), Path::new("/").join(folder))
        }
        "windows" => {
            let local = std::env::var_os("LOCALAPPDATA")
                .map_or_else(|| home.join("AppData/Local"), PathBuf::from);
            (
                local.join("Programs/Common").join(name),
                Path::new("C:/Program Files/Common Files").join(name),
            )
        }
        _ => (
            home.join(format!(".{extension}")),
            Path::new("/usr/lib").join(extension),
        ),
    }
}

/// The user's folder for this plugin's presets, as the VST3 documentation ("Preset Locations") lays down.
fn preset_folder() -> PathBuf {
    let home = std::env::home_dir().unwrap_or_default();
    let presets = match std::env::consts::OS {
        "macos" => "Library/Audio/Presets",
        "windows" => "Documents/VST3 Presets",
        _ => ".vst3/presets",
    };
    home.join(presets).join("Plumbline/Plumbline")
}

fn install(packed: &Packed) -> Outcome<PathBuf> {
    let name = packed.path.file_name().context("a bundle has a name")?;
    let (to, part) = (
        packed.own_folder.join(name),
        packed.own_folder.join(".plumbline-new"),
    );
    fs::create_dir_all(&packed.own_folder)
        .with_context(|| format!("cannot make {}", packed.own_folder.display()))?;
    copy::remove(&part)?;
    copy::all(&packed.path, &part)?;
    copy::remove(&to)?;
    fs::rename(&part, &to).with_context(|| format!("cannot name {}", to.display()))?;
    Ok(to)
}
