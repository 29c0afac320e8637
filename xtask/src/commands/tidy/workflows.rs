//! The workflow files: every step that runs something calls a command of ours, and one that exists.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::Context;

use super::files::File;
use crate::failure::Outcome;

/// Where the commands are listed, as variants of `enum Command`.
const COMMAND_LINE: &str = "xtask/src/cli.rs";
/// How a step runs a command.
const CALL: &str = "cargo xtask ";

/// Every finding about the workflow files of a project.
pub fn findings(root: &Path, files: &[File]) -> Outcome<Vec<String>> {
    let folder = root.join(".github/workflows");
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let commands = commands(files);
    let mut findings = Vec::new();
    for entry in
        fs::read_dir(&folder).with_context(|| format!("cannot read {}", folder.display()))?
    {
        let path = entry?.path();
        let text =
            fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        findings.extend(of_text(&name, &text, &commands));
    }
    Ok(findings)
}

/// The steps of one file that call nothing of ours.
pub fn of_text(name: &str, text: &str, commands: &BTreeSet<String>) -> Vec<String> {
    let steps = text.lines().enumerate().filter_map(|(n, line)| {
        let step = line
            .trim_start()
            .trim_start_matches("- ")
            .strip_prefix("run:")?;
        Some((n + 1, step.trim()))
    });
    let strange = steps.filter(|(_, step)| {
        let command = step
            .strip_prefix(CALL)
            .and_then(|words| words.split(' ').next());
        !command.is_some_and(|command| commands.contains(command))
    });
    strange
        .map(|(line, step)| {
            format!(".github/workflows/{name}:{line}: \"{step}\" is no command of cargo xtask")
        })
        .collect()
}

/// The commands' names, as they are typed.
pub fn commands(files: &[File]) -> BTreeSet<String> {
    let text = files
        .iter()
        .find(|file| file.path == COMMAND_LINE)
        .map(|file| &file.text);
    let parsed = text.and_then(|text| syn::parse_file(text).ok());
    let items = parsed.into_iter().flat_map(|file| file.items);
    let enums = items.filter_map(|item| match item {
        syn::Item::Enum(item) if item.ident == "Command" => Some(item.variants),
        _ => None,
    });
    enums
        .flatten()
        .map(|variant| variant.ident.to_string().to_lowercase())
        .collect()
}
