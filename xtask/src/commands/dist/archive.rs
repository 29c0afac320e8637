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
    match system {
        System::Windows | System::WindowsFromLinux => zip(folder, &name, file),
        System::Linux | System::MacOs => tar(folder, &name, file),
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

/// The same files give the same bytes: no times, owners or other modes than "may be run".
fn tar(folder: &Path, name: &str, file: File) -> anyhow::Result<()> {
    let mut builder = Builder::new(GzEncoder::new(file, Compression::best()));
    builder.mode(HeaderMode::Deterministic);
    builder.append_dir_all(name, folder)?;
    builder.into_inner()?.finish()?;
    Ok(())
}

fn zip(folder: &Path, name: &str, file: File) -> anyhow::Result<()> {
    let mut writer = ZipWriter::new(file);
    add(&mut writer, folder, name)?;
    writer.finish()?;
    Ok(())
}

fn add(writer: &mut ZipWriter<File>, folder: &Path, name: &str) -> anyhow::Result<()> {
    for entry in folder.read_dir()? {
        let entry = entry?;
        let name = format!("{name}/{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            add(writer, &entry.path(), &name)?;
        } else {
            writer.start_file(name, SimpleFileOptions::default())?;
            std::io::copy(&mut File::open(entry.path())?, writer)?;
        }
    }
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
