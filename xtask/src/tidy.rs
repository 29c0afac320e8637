//! `cargo xtask tidy`: the code map against the tree, first lines, nothing left undone, a clean top level.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow};
use clap::Args;

use crate::failure::Outcome;
use crate::workspace::root;

/// Names allowed beside dot files at the top level; `target` is where Cargo builds.
const TOP_LEVEL: [&str; 11] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "plugin",
    "xtask",
    "tests",
    "docs",
    "target",
];

/// Marks that something was left for later, put together here so that this file does not hold them.
const LEFT_UNDONE: [&str; 2] = [concat!("TO", "DO"), concat!("FIX", "ME")];

/// Kinds of files that are read.
const READ: [&str; 7] = ["rs", "toml", "md", "css", "py", "sh", "yml"];

const MAP: &str = "DEVELOPERS.md";
const MAP_BEGINS: &str = "<!-- code map: written by cargo xtask tidy --write -->";
const MAP_ENDS: &str = "<!-- end of the code map -->";

/// Options of `cargo xtask tidy`.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct TidyOptions {
    /// Write the code map of DEVELOPERS.md anew instead of checking it
    #[arg(long)]
    write: bool,
}

/// Prints every finding; fails when there is one.
pub fn run(options: TidyOptions) -> Outcome {
    if options.write {
        write_map(root())?;
    }
    let findings = findings(root())?;
    findings.iter().for_each(|finding| println!("{finding}"));
    if findings.is_empty() {
        println!("tidy");
        return Ok(());
    }
    Err(anyhow!("{} to tidy", findings.len()).into())
}

/// Everything that is not tidy under a project's folder.
pub fn findings(root: &Path) -> Outcome<Vec<String>> {
    let files = files(root)?;
    let mut findings = top_level(root)?;
    for file in &files {
        let text = fs::read_to_string(root.join(file)).unwrap_or_default();
        findings.extend(first_line_finding(file, &text));
        findings.extend(undone(file, &text));
    }
    findings.extend(map_findings(root, &files));
    Ok(findings)
}

/// All files that are read, relative to the root and sorted.
fn files(root: &Path) -> Outcome<Vec<PathBuf>> {
    let mut files = Vec::new();
    for name in TOP_LEVEL.iter().filter(|name| **name != "target") {
        collect(&root.join(name), &mut files)?;
    }
    let mut files: Vec<PathBuf> = files
        .iter()
        .filter_map(|file| file.strip_prefix(root).ok().map(Path::to_owned))
        .collect();
    files.sort();
    Ok(files)
}

fn collect(path: &Path, files: &mut Vec<PathBuf>) -> Outcome {
    let name = path
        .file_name()
        .and_then(|name| name.to_str())
        .unwrap_or_default();
    if path.is_dir() && !name.starts_with('.') && name != "target" {
        for entry in
            fs::read_dir(path).with_context(|| format!("cannot read {}", path.display()))?
        {
            collect(&entry?.path(), files)?;
        }
    } else if path
        .extension()
        .and_then(|extension| extension.to_str())
        .is_some_and(|kind| READ.contains(&kind))
    {
        files.push(path.to_owned());
    }
    Ok(())
}

fn top_level(root: &Path) -> Outcome<Vec<String>> {
    let mut strangers = Vec::new();
    for entry in fs::read_dir(root).with_context(|| format!("cannot read {}", root.display()))? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') && !TOP_LEVEL.contains(&name.as_str()) {
            strangers.push(format!(
                "{name}: the top level holds nothing but {}",
                TOP_LEVEL.join(" ")
            ));
        }
    }
    Ok(strangers)
}

fn is_source(file: &Path) -> bool {
    file.extension().is_some_and(|extension| extension == "rs")
}

fn first_line(text: &str) -> Option<&str> {
    let sentence = text.lines().next()?.strip_prefix("//! ")?;
    sentence.ends_with(['.', '?', '!']).then_some(sentence)
}

fn first_line_finding(file: &Path, text: &str) -> Option<String> {
    (is_source(file) && first_line(text).is_none()).then(|| {
        format!(
            "{}:1: the first line is one //! sentence in the trade's words",
            shown(file)
        )
    })
}

fn undone(file: &Path, text: &str) -> Vec<String> {
    let marked = |line: &str| LEFT_UNDONE.iter().any(|mark| line.contains(mark));
    let lines = text.lines().enumerate().filter(|(_, line)| marked(line));
    lines
        .map(|(n, _)| format!("{}:{}: left undone", shown(file), n + 1))
        .collect()
}

/// A path with forward slashes on every system.
fn shown(file: &Path) -> String {
    file.to_string_lossy().replace('\\', "/")
}

/// One line for each source file: its path and its first line.
fn map(root: &Path, files: &[PathBuf]) -> Vec<String> {
    files
        .iter()
        .filter(|file| is_source(file))
        .map(|file| {
            let text = fs::read_to_string(root.join(file)).unwrap_or_default();
            format!(
                "- `{}`: {}",
                shown(file),
                first_line(&text).unwrap_or("(no first line)")
            )
        })
        .collect()
}

/// The map's lines as they stand in the text, or nothing where it has no map.
fn written_map(text: &str) -> Option<Vec<String>> {
    let (_, after) = text.split_once(MAP_BEGINS)?;
    let (map, _) = after.split_once(MAP_ENDS)?;
    Some(
        map.lines()
            .filter(|line| !line.trim().is_empty())
            .map(str::to_owned)
            .collect(),
    )
}

fn map_findings(root: &Path, files: &[PathBuf]) -> Vec<String> {
    let text = fs::read_to_string(root.join(MAP)).unwrap_or_default();
    let Some(written) = written_map(&text) else {
        return vec![format!(
            "{MAP}: no code map between \"{MAP_BEGINS}\" and \"{MAP_ENDS}\""
        )];
    };
    let wanted = map(root, files);
    let missing = wanted
        .iter()
        .filter(|line| written.iter().filter(|other| other == line).count() != 1);
    let stale = written.iter().filter(|line| !wanted.contains(line));
    missing
        .map(|line| format!("{MAP}: the code map lacks, or has more than once: {line}"))
        .chain(stale.map(|line| format!("{MAP}: the code map is stale: {line}")))
        .chain(
            (!written.is_empty() && written != wanted)
                .then(|| format!("{MAP}: cargo xtask tidy --write renews the map")),
        )
        .collect()
}

fn write_map(root: &Path) -> Outcome {
    let path = root.join(MAP);
    let text =
        fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
    let Some((before, (_, after))) = text
        .split_once(MAP_BEGINS)
        .and_then(|(before, rest)| Some((before, rest.split_once(MAP_ENDS)?)))
    else {
        return Err(anyhow!(
            "{MAP} has no place for the map: add the lines {MAP_BEGINS} and {MAP_ENDS}"
        )
        .into());
    };
    let map = map(root, &files(root)?).join("\n");
    fs::write(
        &path,
        format!("{before}{MAP_BEGINS}\n{map}\n{MAP_ENDS}{after}"),
    )
    .with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn project(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        folder
    }

    fn map_of(lines: &str) -> String {
        format!("# For developers\n{MAP_BEGINS}\n{lines}\n{MAP_ENDS}\nMore.\n")
    }

    #[test]
    fn a_tidy_project_has_no_findings() {
        let map = map_of("- `plugin/src/lib.rs`: The shell.");
        let folder = project(&[
            ("plugin/src/lib.rs", "//! The shell.\n"),
            (MAP, &map),
            (".gitignore", "/target\n"),
        ]);
        assert_eq!(findings(folder.path()).unwrap(), Vec::<String>::new());
    }

    #[test]
    fn each_fault_is_found_and_named() {
        let undone = format!("//! Fine.\n// {}: later\n", LEFT_UNDONE[0]);
        let folder = project(&[
            ("plugin/src/lib.rs", "pub mod a;\n"),
            ("xtask/src/main.rs", &undone),
            ("notes.txt", ""),
            (MAP, &map_of("- `gone.rs`: Gone.")),
        ]);
        let all = findings(folder.path()).unwrap().join("\n");
        let wanted = [
            "notes.txt: the top",
            "lib.rs:1: the first",
            "main.rs:2: left undone",
            "stale: - `gone.rs`",
            "lacks",
        ];
        for part in wanted {
            assert!(all.contains(part), "{part:?} is not in\n{all}");
        }
    }

    #[test]
    fn writing_the_map_keeps_the_rest_of_the_page() {
        let folder = project(&[
            ("tests/src/lib.rs", "//! A small host.\n"),
            (MAP, &map_of("- old")),
        ]);
        write_map(folder.path()).unwrap();
        let text = fs::read_to_string(folder.path().join(MAP)).unwrap();
        assert_eq!(text, map_of("- `tests/src/lib.rs`: A small host."));
    }
}
