//! Which libraries a Windows library asks the system for: only those that every Windows has.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use anyhow::{Context, anyhow};

use crate::failure::Outcome;

/// Part of binutils, which the linker needs.
const OBJDUMP: &str = "x86_64-w64-mingw32-objdump";
/// How objdump writes a library's name.
const NAME: &str = "DLL Name: ";
/// Libraries of Windows 10 and later, without their ending. Sets of the kind "api-ms-win-..." are the system's too.
const OF_WINDOWS: [&str; 15] = [
    "advapi32",
    "bcryptprimitives",
    "combase",
    "gdi32",
    "kernel32",
    "msvcrt",
    "ntdll",
    "ole32",
    "oleaut32",
    "opengl32",
    "rpcrt4",
    "shell32",
    "user32",
    "userenv",
    "ws2_32",
];

/// Refuses a library that needs more; prints what it needs.
pub fn check(library: &Path) -> Outcome {
    let output = Command::new(OBJDUMP).arg("-p").arg(library).output();
    let output = output.with_context(|| format!("cannot run {OBJDUMP}"))?;
    let names = names(&String::from_utf8_lossy(&output.stdout));
    let strange: Vec<_> = names.iter().filter(|name| !is_of_windows(name)).collect();
    if names.is_empty() || !strange.is_empty() {
        let path = library.display();
        return Err(
            anyhow!("{path} needs what not every Windows has: {strange:?} of {names:?}").into(),
        );
    }
    let names: BTreeSet<_> = names.into_iter().collect();
    let names: Vec<_> = names.into_iter().collect();
    println!("needs of the system: {}", names.join(" "));
    Ok(())
}

/// In small letters, without ".dll".
fn names(listing: &str) -> Vec<String> {
    let lines = listing
        .lines()
        .filter_map(|line| line.trim().strip_prefix(NAME));
    lines
        .map(|name| name.trim().to_lowercase())
        .map(|name| name.strip_suffix(".dll").unwrap_or(&name).to_owned())
        .collect()
}

fn is_of_windows(name: &str) -> bool {
    OF_WINDOWS.contains(&name) || name.starts_with("api-ms-win-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_library_of_the_compiler_is_not_the_systems() {
        let names = names("\tDLL Name: KERNEL32.dll\n\tDLL Name: libgcc_s_seh-1.dll\n");
        let strange: Vec<_> = names.iter().filter(|name| !is_of_windows(name)).collect();
        assert_eq!(strange, ["libgcc_s_seh-1"]);
    }
}
