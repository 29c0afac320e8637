//! What the files say of themselves: the first line, nothing left for later, and a guide short enough to be read.

use super::files::File;

/// Marks that something was left for later, put together here so that this file does not hold them.
pub const LEFT_UNDONE: [&str; 2] = [concat!("TO", "DO"), concat!("FIX", "ME")];

/// The guide for developers, and the most words it may have.
pub const GUIDE: &str = "DEVELOPERS.md";
const MOST_GUIDE_WORDS: usize = 1500;

/// Every finding about words.
pub fn findings(files: &[File]) -> Vec<String> {
    let mut findings = Vec::new();
    for file in files {
        findings.extend(first_line_finding(file));
        findings.extend(undone(file));
    }
    findings.extend(long_guide(files));
    findings
}

/// The sentence in the first line of a source file.
pub fn first_line(text: &str) -> Option<&str> {
    let sentence = text.lines().next()?.strip_prefix("//! ")?;
    sentence.ends_with(['.', '?', '!']).then_some(sentence)
}

fn first_line_finding(file: &File) -> Option<String> {
    (file.is_rust() && first_line(&file.text).is_none()).then(|| {
        format!(
            "{}:1: the first line is one //! sentence in the trade's words",
            file.path
        )
    })
}

fn undone(file: &File) -> Vec<String> {
    let marked = |line: &str| LEFT_UNDONE.iter().any(|mark| line.contains(mark));
    let lines = file.text.lines().enumerate();
    lines
        .filter(|(_, line)| marked(line))
        .map(|(n, _)| format!("{}:{}: left undone", file.path, n + 1))
        .collect()
}

fn long_guide(files: &[File]) -> Option<String> {
    let guide = files.iter().find(|file| file.path == GUIDE)?;
    let words = guide.text.split_whitespace().count();
    (words > MOST_GUIDE_WORDS).then(|| {
        format!("{GUIDE}: {words} words, at most {MOST_GUIDE_WORDS}: move what is looked up and not read to docs/")
    })
}
