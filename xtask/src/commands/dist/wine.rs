//! Wine, in which an archive for Windows is installed and tested on Linux: with a Windows folder of its own.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, anyhow};

use crate::failure::{Outcome, refuse};
use crate::project::packages;

/// What Debian calls it.
const PACKAGES: [&str; 2] = ["wine", "wine64"];
/// Asks for nothing that is not installed (.NET, a browser) and leaves the user's menus alone.
const LEFT_OUT: &str = "mscoree,mshtml=;winemenubuilder.exe=d";

/// A Windows folder with a user in it.
#[derive(Debug)]
pub struct Wine {
    prefix: PathBuf,
}

impl Wine {
    /// Makes the folder, which takes a while, and says which Wine it is. Wine is installed where that can be done.
    pub fn start(prefix: &Path) -> Outcome<Self> {
        packages::install(&PACKAGES);
        let wine = Self {
            prefix: prefix.to_owned(),
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
        match made.status.success() {
            true => Ok(wine),
            false => Err(anyhow!(
                "Wine makes no Windows folder: {}",
                String::from_utf8_lossy(&made.stderr)
            )
            .into()),
        }
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
            .env("WINEDLLOVERRIDES", LEFT_OUT)
            .env_remove("DISPLAY");
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
