//! The tree of a crate's modules, and what a path means in it: the file that defines what the path names.

use anyhow::{Context, anyhow};

use super::files::File;
use super::items::{Items, Path, UseKind};
use crate::failure::Outcome;

/// What is being looked up: a name in a module. Asked again on the way to its own answer, it has none; each glob of a module is
/// looked through for the path of every other, so that without this a module of three takes forever.
type Asked<'a> = Vec<(usize, &'a str)>;

/// One module.
#[derive(Debug)]
pub struct Module {
    /// Path of the file it stands in.
    pub file: String,
    /// What it holds.
    pub items: Items,
    parent: usize,
    children: Vec<(String, usize)>,
}

/// What a path names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// A module.
    Module(usize),
    /// Something that a module defines.
    Item(usize),
}

/// All modules of a crate; the first is its root.
#[derive(Debug, Default)]
pub struct Tree {
    /// By number.
    pub modules: Vec<Module>,
}

/// Reads the modules of the library in `folder`; empty where there is none.
pub fn tree(files: &[File], folder: &str) -> Outcome<Tree> {
    let mut tree = Tree::default();
    let root = format!("{folder}/lib.rs");
    if let Some(file) = files.iter().find(|file| file.path == root) {
        tree.add_file(files, file, folder, 0)?;
    }
    Ok(tree)
}

impl Tree {
    /// Adds a file's module and all below it; `folder` is where its children are. Returns its number.
    fn add_file(
        &mut self,
        files: &[File],
        file: &File,
        folder: &str,
        parent: usize,
    ) -> Outcome<usize> {
        let syntax =
            syn::parse_file(&file.text).with_context(|| format!("cannot read {}", file.path))?;
        self.add(files, &file.path, Items::of(&syntax.items), folder, parent)
    }

    fn add(
        &mut self,
        files: &[File],
        file: &str,
        items: Items,
        folder: &str,
        parent: usize,
    ) -> Outcome<usize> {
        let number = self.modules.len();
        let (inline, outside) = (items.inline.clone(), items.files.clone());
        self.modules.push(Module {
            file: file.to_owned(),
            items,
            parent,
            children: Vec::new(),
        });
        for (name, items) in inline {
            let child = self.add(files, file, items, &format!("{folder}/{name}"), number)?;
            self.modules[number].children.push((name, child));
        }
        for name in outside {
            let own = format!("{folder}/{name}");
            let beside = [format!("{own}.rs"), format!("{own}/mod.rs")];
            let Some(found) = files.iter().find(|file| beside.contains(&file.path)) else {
                return Err(anyhow!("{file}: the module {name} has no file").into());
            };
            let child = self.add_file(files, found, &own, number)?;
            self.modules[number].children.push((name, child));
        }
        Ok(number)
    }

    /// What a path names when it is written in a module; nothing where it leaves the crate.
    pub fn resolve(&self, module: usize, path: &Path) -> Option<Named> {
        self.follow(module, &path.segments, &mut Asked::new())
    }

    fn follow<'a>(
        &'a self,
        module: usize,
        segments: &'a [String],
        asked: &mut Asked<'a>,
    ) -> Option<Named> {
        let (first, rest) = segments.split_first()?;
        let start = match first.as_str() {
            "crate" => Named::Module(0),
            "self" => Named::Module(module),
            "super" => Named::Module(self.modules[module].parent),
            name => self.lookup(module, name, Some(rest), asked)?,
        };
        self.descend(start, rest, asked)
    }

    fn descend<'a>(
        &'a self,
        start: Named,
        segments: &'a [String],
        asked: &mut Asked<'a>,
    ) -> Option<Named> {
        let Some((next, rest)) = segments.split_first() else {
            return Some(start);
        };
        match start {
            // Variants, associated functions and constants belong to the item.
            Named::Item(_) => Some(start),
            Named::Module(module) if next == "super" => {
                self.descend(Named::Module(self.modules[module].parent), rest, asked)
            }
            Named::Module(module) => {
                let named = self.lookup(module, next, Some(rest), asked)?;
                self.descend(named, rest, asked)
            }
        }
    }

    /// A name in a module. Where a module and an item share it, what follows the name decides.
    fn lookup<'a>(
        &'a self,
        module: usize,
        name: &'a str,
        rest: Option<&[String]>,
        asked: &mut Asked<'a>,
    ) -> Option<Named> {
        let here = &self.modules[module];
        let child = here.children.iter().find(|(child, _)| child == name);
        let child = child.map(|(_, child)| Named::Module(*child));
        if child.is_some() && rest.is_some_and(|rest| !rest.is_empty()) {
            return child;
        }
        if here.items.defined.iter().any(|defined| defined == name) {
            return Some(Named::Item(module));
        }
        if asked.contains(&(module, name)) {
            return child;
        }
        asked.push((module, name));
        let brought_in = self.brought_in(module, name, asked);
        asked.pop();
        brought_in.or(child)
    }

    /// A name that a `use` brought in.
    fn brought_in<'a>(
        &'a self,
        module: usize,
        name: &'a str,
        asked: &mut Asked<'a>,
    ) -> Option<Named> {
        let uses = &self.modules[module].items.uses;
        for import in uses
            .iter()
            .filter(|import| import.name.as_deref() == Some(name))
        {
            let own = import.path.segments.len() == 1 && import.path.segments[0] == name;
            let named = (!own).then(|| self.follow(module, &import.path.segments, asked));
            if let Some(named) = named.flatten() {
                return Some(named);
            }
        }
        for import in uses.iter().filter(|import| import.name.is_none()) {
            let within = match self.follow(module, &import.path.segments, asked) {
                Some(Named::Module(other)) if other != module => other,
                _ => continue,
            };
            if let Some(named) = self.lookup(within, name, None, asked) {
                return Some(named);
            }
        }
        None
    }

    /// Paths of a module that make it depend on others: what it uses, not what it hands on.
    pub fn used_paths(&self, module: usize) -> impl Iterator<Item = &Path> {
        let items = &self.modules[module].items;
        let imports = items
            .uses
            .iter()
            .filter(|import| import.kind == UseKind::Import && import.name.is_some())
            .map(|import| &import.path);
        imports.chain(&items.paths)
    }
}
