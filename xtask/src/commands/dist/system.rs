//! The systems that archives are made for, and what differs between them.

use std::env::consts::{ARCH, OS};

use crate::failure::{Outcome, refuse};
use crate::project::targets;

/// A system with hosts for audio plugins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    Linux,
    /// One library for both processors.
    MacOs,
    Windows,
    /// Windows on x86_64, built here.
    WindowsFromLinux,
}

impl System {
    /// The one this runs on.
    pub fn here() -> Outcome<Self> {
        match OS {
            "linux" => Ok(Self::Linux),
            "macos" => Ok(Self::MacOs),
            "windows" => Ok(Self::Windows),
            other => refuse(format!("no archive is made on {other}")),
        }
    }

    /// As in the archive's name.
    pub fn name(self) -> String {
        match self {
            Self::Linux => format!("linux-{ARCH}"),
            Self::MacOs => "macos-universal".to_owned(),
            Self::Windows => format!("windows-{ARCH}"),
            Self::WindowsFromLinux => "windows-x86_64".to_owned(),
        }
    }

    /// The targets whose crates are linked, for cargo's filter.
    pub fn targets(self) -> Vec<String> {
        match self {
            Self::Linux => vec![format!("{ARCH}-unknown-linux-gnu")],
            Self::MacOs => targets::MAC.map(str::to_owned).to_vec(),
            Self::Windows => vec![format!("{ARCH}-pc-windows-msvc")],
            Self::WindowsFromLinux => vec![targets::WINDOWS_FROM_LINUX.to_owned()],
        }
    }

    /// The install script's name and text. Windows reads a script's labels surely only where lines end as they do there.
    pub fn install_script(self) -> (&'static str, String) {
        match self {
            Self::Linux | Self::MacOs => ("install.sh", include_str!("install.sh").to_owned()),
            Self::Windows | Self::WindowsFromLinux => {
                let text = include_str!("install.cmd").replace("\r\n", "\n");
                ("install.cmd", text.replace('\n', "\r\n"))
            }
        }
    }

    /// What is typed in the unpacked folder.
    pub fn install_line(self) -> &'static str {
        match self {
            Self::Linux | Self::MacOs => "sh install.sh",
            Self::Windows | Self::WindowsFromLinux => "cmd /C install.cmd",
        }
    }
}
