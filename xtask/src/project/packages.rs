//! Packages of the system that a command needs: installed where that can be done, else the command to type.

use std::process::Command;

#[cfg(target_os = "linux")]
use plumbline_hosting::{PACKAGES, Screen};

#[cfg(target_os = "linux")]
use crate::failure::{Outcome, refuse};

/// Installs what is missing where that can be done: as root, where there is apt. Whether it worked is for the caller to see.
pub fn install(packages: &[&str]) {
    let present = |package: &&str| {
        let output = Command::new("dpkg-query")
            .args(["--status", package])
            .output();
        output.is_ok_and(|output| output.status.success())
    };
    if !is_root() || packages.iter().all(present) {
        return;
    }
    println!("installing {}", packages.join(" "));
    let _ = Command::new("apt-get").arg("update").output();
    let _ = Command::new("apt-get")
        .args(["install", "--yes", "--no-install-recommends"])
        .args(packages)
        .env("DEBIAN_FRONTEND", "noninteractive")
        .output();
}

/// What somebody types who may install them.
pub fn command(packages: &[&str]) -> String {
    format!("apt-get install -y {}", packages.join(" "))
}

fn is_root() -> bool {
    Command::new("id")
        .arg("-u")
        .output()
        .is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

/// A screen that nobody sees; its packages are installed where that can be done.
#[cfg(target_os = "linux")]
pub fn screen() -> Outcome<Screen> {
    install(&PACKAGES);
    match Screen::start()? {
        Some(screen) => Ok(screen),
        None => refuse(format!("no Xvfb: {}", command(&PACKAGES))),
    }
}
