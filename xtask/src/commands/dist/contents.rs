//! What an archive holds, gathered in a folder of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::Context;

use super::system::System;
use super::{checksums, licences};
use crate::failure::Outcome;
use crate::manual::{self, Numbers};
use crate::project::copy;
use crate::project::plugin::{self, PACKAGE};
use crate::project::workspace::root;

/// Gathers everything anew in `folder` and returns it.
pub fn gather(folder: &Path, system: System) -> Outcome<PathBuf> {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot clear {}", folder.display()))?;
    }
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    bundles(folder, system)?;
    fs::copy(manual::render(Numbers::Check)?, folder.join("manual.html"))
        .context("cannot copy the manual")?;
    for name in ["LICENSE-MIT", "LICENSE-APACHE"] {
        fs::copy(root().join(name), folder.join(name)).context("cannot copy the licences")?;
    }
    write(folder, "third-party-licences.txt", &licences::text(system)?)?;
    let (script, text) = system.install_script();
    write(folder, script, &text)?;
    write(folder, "README.txt", &readme(system))?;
    write(folder, checksums::FILE, &checksums::of_folder(folder)?)?;
    Ok(folder.to_owned())
}

fn bundles(folder: &Path, system: System) -> Outcome {
    let built = match system {
        System::MacOs => plugin::pack_universal()?,
        System::Linux | System::Windows => plugin::pack()?,
        System::WindowsFromLinux => plugin::pack_for_windows()?,
    };
    for extension in ["clap", "vst3"] {
        let name = format!("{PACKAGE}.{extension}");
        let to = folder.join(&name);
        copy::all(&built.join(&name), &to)?;
        match system {
            System::Linux => strip(&to, "strip")?,
            System::WindowsFromLinux => strip(&to, "x86_64-w64-mingw32-strip")?,
            System::MacOs | System::Windows => {}
        }
    }
    // Presets are written by a library that runs here; what they hold is the same on every system.
    let here = match system {
        System::WindowsFromLinux => plugin::pack()?,
        _ => built,
    };
    copy::all(&plugin::write_vst3_presets(&here)?, &folder.join("presets"))
}

/// Takes the line tables out, which only a profiler reads: three quarters of the library. Without binutils they stay.
fn strip(path: &Path, tool: &str) -> Outcome {
    if path.is_dir() {
        let entries =
            fs::read_dir(path).with_context(|| format!("cannot read {}", path.display()))?;
        for entry in entries.flatten() {
            strip(&entry.path(), tool)?;
        }
    } else if path.extension().is_some_and(|ending| {
        ["so", "clap", "vst3"]
            .iter()
            .any(|library| ending == *library)
    }) {
        let _ = Command::new(tool).arg("--strip-debug").arg(path).status();
    }
    Ok(())
}

fn write(folder: &Path, name: &str, text: &str) -> Outcome {
    let path = folder.join(name);
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

/// As found on a Debian 12 with nothing else on it.
const NEEDED_ON_LINUX: &str = "\
    Needed: glibc 2.35 or newer and libgcc_s; for the window an X11 display, libX11, libX11-xcb, libxcb, and libEGL or libGL\n\
    with a driver. On Debian: apt-get install libx11-xcb1 libegl1 libgl1-mesa-dri\n\n";

fn readme(system: System) -> String {
    format!(
        "Plumbline {version}\n\n\
         Install, in this folder:\n\n    {line}\n\n\
         That copies plumbline.clap and plumbline.vst3 to your own plugin folders, and the starting points to the folder where\n\
         VST3 hosts look for presets (CLAP hosts ask the plugin). It asks nothing. Another place:\n\n    \
         {line}{prefix} FOLDER\n\n{needs}\
         manual.html has everything else, with sound. Drums are loud: turn the monitors down first.\n\
         Licence: MIT or Apache-2.0, at your option. What is linked is in third-party-licences.txt.\n",
        version = env!("CARGO_PKG_VERSION"),
        line = system.install_line(),
        prefix = match system {
            System::Windows | System::WindowsFromLinux => "",
            System::Linux | System::MacOs => " --prefix",
        },
        needs = match system {
            System::Linux => NEEDED_ON_LINUX,
            System::MacOs | System::Windows | System::WindowsFromLinux => "",
        },
    )
}
