//! Which file of a crate uses which other file, and through what.

use super::modules::{Named, Tree};

/// One file's use of another: the first line where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Import {
    /// The file that uses.
    pub from: String,
    /// Line of that file.
    pub line: usize,
    /// The path as written.
    pub path: String,
    /// The file that defines what is used.
    pub to: String,
}

/// Every pair of files once, in the order of the paths.
pub fn of(tree: &Tree) -> Vec<Import> {
    let mut imports = Vec::new();
    for (number, module) in tree.modules.iter().enumerate() {
        for path in tree.used_paths(number) {
            let Some(Named::Item(target)) = tree.resolve(number, path) else {
                continue;
            };
            imports.push(Import {
                from: module.file.clone(),
                line: path.line,
                path: path.segments.join("::"),
                to: tree.modules[target].file.clone(),
            });
        }
    }
    imports.retain(|import| import.from != import.to);
    imports.sort_by(|a, b| (&a.from, &a.to, a.line).cmp(&(&b.from, &b.to, b.line)));
    imports.dedup_by(|later, earlier| later.from == earlier.from && later.to == earlier.to);
    imports
}
