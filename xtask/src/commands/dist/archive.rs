//! Packs a folder as its system expects it, and unpacks it again: tar.gz, or zip for Windows.

use std::fs::File;
use std::path::{Path, PathBuf};

use anyhow::Context;
use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use tar::{Builder, HeaderMode};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::checksums;
use super::system::System;
use crate::failure::Outcome;

/// Packs the folder beside itself.
pub fn pack(folder: &Path, system: System) -> Outcome<PathBuf> {
    let name = file_name(folder);
    let ending = match system {
        System::Windows | System::WindowsFromLinux => "zip",
        System::Linux | System::MacOs => "tar.gz",
    };
    let path = folder.with_file_name(format!("{name}.{ending}"));
    let file = File::create(&path).with_context(|| format!("cannot write {}", path.display()))?;
    let names = checksums::files(folder)?;
    match system {
        System::Windows | System::WindowsFromLinux => zip(folder, &names, &name, file),
        System::Linux | System::MacOs => tar(folder, &names, &name, file),
    }
    .with_context(|| format!("cannot pack {}", path.display()))?;
    Ok(path)
}

/// The last part of a path.
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// The same files give the same bytes: sorted, no times, owners or other modes than "may be run".
fn tar(folder: &Path, names: &[String], top: &str, file: File) -> anyhow::Result<()> {
    let mut builder = Builder::new(GzEncoder::new(file, Compression::best()));
    builder.mode(HeaderMode::Deterministic);
    for name in names {
        builder.append_path_with_name(folder.join(name), format!("{top}/{name}"))?;
    }
    builder.into_inner()?.finish()?;
    Ok(())
}

fn zip(folder: &Path, names: &[String], top: &str, file: File) -> anyhow::Result<()> {
    let mut writer = ZipWriter::new(file);
    for name in names {
        writer.start_file(format!("{top}/{name}"), SimpleFileOptions::default())?;
        std::io::copy(&mut File::open(folder.join(name))?, &mut writer)?;
    }
    writer.finish()?;
    Ok(())
}

/// Unpacks an archive into a folder.
pub fn unpack(path: &Path, into: &Path, system: System) -> Outcome {
    let file = File::open(path).with_context(|| format!("cannot read {}", path.display()))?;
    match system {
        System::Windows | System::WindowsFromLinux => ZipArchive::new(file)
            .and_then(|mut archive| archive.extract(into))
            .map_err(anyhow::Error::from),
        System::Linux | System::MacOs => tar::Archive::new(GzDecoder::new(file))
            .unpack(into)
            .map_err(anyhow::Error::from),
    }
    .with_context(|| format!("cannot unpack {}", path.display()))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn what_is_packed_comes_out_again() {
        for system in [System::Linux, System::Windows] {
            let place = tempfile::tempdir().expect("a folder");
            let folder = place.path().join("name");
            fs::create_dir_all(folder.join("inside/deep")).expect("a folder");
            fs::write(folder.join("inside/deep/file"), "words").expect("a file");
            let packed = pack(&folder, system).expect("packs");
            let elsewhere = place.path().join("elsewhere");
            unpack(&packed, &elsewhere, system).expect("unpacks");
            let text = fs::read_to_string(elsewhere.join("name/inside/deep/file"));
            assert_eq!(text.expect("the file"), "words", "{system:?}");
        }
    }
}
