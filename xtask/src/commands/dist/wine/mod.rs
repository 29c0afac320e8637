//! Wine, in which an archive for Windows is installed and tested on Linux: with a Windows folder of its own.
//!
//! Debian's Wine 8.0 lacks a library of Windows 10 that every program of Rust needs. Where it is not there the folder gets a
//! stand-in, compiled from `bcryptprimitives.rs`. Called by `check`.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, anyhow};

use crate::failure::{Outcome, refuse};
use crate::project::packages;
use crate::project::targets::WINDOWS_FROM_LINUX;

/// What Debian calls it.
const PACKAGES: [&str; 2] = ["wine", "wine64"];
/// Asks for nothing that is not installed (.NET, a browser) and leaves the user's menus alone.
const LEFT_OUT: &str = "mscoree,mshtml=;winemenubuilder.exe=d";

/// The library that Debian's Wine lacks, and what stands in for it.
const LACKING: &str = "bcryptprimitives";
const STAND_IN: &str = include_str!("bcryptprimitives.rs");

/// A Windows folder with a user in it, and a screen for its windows.
pub struct Wine {
    prefix: PathBuf,
    #[cfg(target_os = "linux")]
    screen: plumbline_hosting::Screen,
}

impl Wine {
    /// Makes the folder, which takes a while, and says which Wine it is. Wine is installed where that can be done.
    pub fn start(prefix: &Path) -> Outcome<Self> {
        packages::install(&PACKAGES);
        let wine = Self {
            prefix: prefix.to_owned(),
            #[cfg(target_os = "linux")]
            screen: packages::screen()?,
        };
        fs::create_dir_all(prefix).with_context(|| format!("cannot make {}", prefix.display()))?;
        let version = match wine.command(&["--version"]).output() {
            Err(error) if error.kind() == ErrorKind::NotFound => {
                return refuse(format!("no Wine: {}", packages::command(&PACKAGES)));
            }
            output => output.context("cannot run Wine")?.stdout,
        };
        println!("{}", String::from_utf8_lossy(&version).trim());
        let made = wine.command(&["wineboot", "--init"]).output();
        let made = made.context("cannot run Wine")?;
        if !made.status.success() {
            let words = String::from_utf8_lossy(&made.stderr);
            return Err(anyhow!("Wine makes no Windows folder: {words}").into());
        }
        wine.complete()?;
        Ok(wine)
    }

    /// Adds the library that an older Wine lacks.
    fn complete(&self) -> Outcome {
        let library = self
            .prefix
            .join("drive_c/windows/system32")
            .join(LACKING)
            .with_extension("dll");
        if library.exists() {
            return Ok(());
        }
        let source = self.prefix.join(LACKING).with_extension("rs");
        fs::write(&source, STAND_IN)
            .with_context(|| format!("cannot write {}", source.display()))?;
        let compiler = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
        let status = Command::new(compiler)
            .args(["--edition=2024", "--crate-type=cdylib", "-Cpanic=abort"])
            .args(["-O", "--target", WINDOWS_FROM_LINUX])
            .args([&source, Path::new("-o"), &library])
            .status();
        match status.context("cannot run rustc")?.success() {
            true => println!("this Wine has no {LACKING}.dll: a stand-in was compiled"),
            false => return Err(anyhow!("{LACKING}.dll for Wine does not compile").into()),
        }
        Ok(())
    }

    /// A Windows program with its arguments. The user's home is the folder's, so that nothing is written into the real one.
    pub fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new("wine");
        command.args(words).env("HOME", &self.prefix);
        self.set(&mut command);
        command
    }

    /// What Wine reads from the environment, for a command that starts it.
    pub fn set(&self, command: &mut Command) {
        command
            .env("WINEPREFIX", &self.prefix)
            .env("WINEARCH", "win64")
            .env("WINEDEBUG", "-all")
            .env("WINEDLLOVERRIDES", LEFT_OUT);
        #[cfg(target_os = "linux")]
        command.env("DISPLAY", self.screen.display());
    }

    /// The local application data of the only user.
    pub fn local_data(&self) -> Outcome<PathBuf> {
        let users = self.prefix.join("drive_c/users");
        let entries =
            fs::read_dir(&users).with_context(|| format!("cannot read {}", users.display()))?;
        let mut folders = entries
            .flatten()
            .map(|user| user.path().join("AppData/Local"));
        let found = folders.find(|folder| folder.is_dir());
        Ok(found.context("Wine made no user")?)
    }
}

/// A path of this system as Windows programs see it: on drive Z.
pub fn windows_path(path: &Path) -> String {
    format!("Z:{}", path.display()).replace('/', "\\")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_lie_on_drive_z() {
        let path = Path::new("/home/one user/plumbline.clap");
        assert_eq!(windows_path(path), "Z:\\home\\one user\\plumbline.clap");
    }
}
