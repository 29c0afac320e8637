//! `cargo xtask dist`: an archive for the system it runs on, with everything an engineer needs to install the plugin.
//!
//! Both bundles, the manual, the licences of all that is linked, checksums and an install script that asks nothing. With
//! `--check` the archive is unpacked elsewhere, installed there, and the hosted tests run on what was installed. `contents`
//! says what is packed, `licences` finds the texts, `archive` packs and unpacks, `check` installs and tests, in `wine` what was
//! built for Windows.

mod archive;
mod check;
mod checksums;
mod contents;
mod licences;
mod needs;
mod system;
mod wine;

use std::fs;

use anyhow::Context;
use clap::Args;

use crate::failure::{Outcome, refuse};
use crate::project::workspace::Metadata;
use archive::file_name;
use system::System;

/// Options of `cargo xtask dist`.
#[derive(Args, Clone, Copy, Debug)]
pub struct DistOptions {
    /// Unpack the archive elsewhere, install it there, and run the hosted tests on both installed bundles
    #[arg(long)]
    check: bool,
    /// From Linux: an archive for Windows (x86_64) instead, built with the linker of MinGW-w64. --check runs in Wine
    #[arg(long)]
    windows: bool,
}

/// Builds, gathers, packs; with `--check` installs and tests.
pub fn run(options: DistOptions) -> Outcome {
    let system = match (options.windows, System::here()?) {
        (true, System::Linux) => System::WindowsFromLinux,
        (true, System::MacOs) => return refuse("--windows builds on Linux alone"),
        (_, here) => here,
    };
    let folder = Metadata::read()?.target_dir().join("dist");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let name = format!("plumbline-{}-{}", env!("CARGO_PKG_VERSION"), system.name());
    let staged = contents::gather(&folder.join(&name), system)?;
    let packed = archive::pack(&staged, system)?;
    let sum = checksums::of_file(&packed)?;
    let beside = folder.join(format!("{}.sha256", file_name(&packed)));
    fs::write(&beside, checksums::line(&sum, &file_name(&packed)))
        .with_context(|| format!("cannot write {}", beside.display()))?;
    println!("{}", packed.display());
    println!("{}", beside.display());
    match options.check {
        true => check::run(&packed, &folder.join("check"), &name, system),
        false => Ok(()),
    }
}
