//! What one file's syntax tree says: the items it defines, the names it brings in, the paths it uses.

use proc_macro2::{TokenStream, TokenTree};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Item, UseTree, Visibility};

/// A path as written, and its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    /// `crate`, `super`, names.
    pub segments: Vec<String>,
    /// Line of the file.
    pub line: usize,
}

/// A `use` of one name, or of all names of a module.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// The name it brings in; none for `*`.
    pub name: Option<String>,
    /// Where it comes from.
    pub path: Path,
    /// `use`, or `pub use` that only hands the name on.
    pub kind: UseKind,
}

/// Whether a name is brought in or handed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UseKind {
    /// For this file.
    Import,
    /// For those who use this module.
    Export,
}

/// What a module holds. Code for tests is left out.
#[derive(Clone, Debug, Default)]
pub struct Items {
    /// Names of functions, types, traits, constants and macros.
    pub defined: Vec<String>,
    /// All `use`.
    pub uses: Vec<Use>,
    /// All other paths.
    pub paths: Vec<Path>,
    /// Modules in files of their own.
    pub files: Vec<String>,
    /// Modules in this file.
    pub inline: Vec<(String, Items)>,
}

impl Items {
    /// Reads a file's items.
    pub fn of(items: &[Item]) -> Self {
        let mut found = Self::default();
        items.iter().for_each(|item| found.visit_item(item));
        found
    }

    fn import(&mut self, item: &syn::ItemUse) {
        let kind = match item.vis {
            Visibility::Inherited => UseKind::Import,
            _ => UseKind::Export,
        };
        let line = item.span().start().line;
        let mut names = Vec::new();
        flatten(&item.tree, &mut Vec::new(), &mut names);
        let uses = names.into_iter().map(|(name, segments)| Use {
            name,
            path: Path { segments, line },
            kind,
        });
        self.uses.extend(uses);
    }

    fn module(&mut self, module: &syn::ItemMod) {
        let name = module.ident.to_string();
        match &module.content {
            Some((_, items)) => self.inline.push((name, Items::of(items))),
            None => self.files.push(name),
        }
    }

    /// Paths in the arguments of a macro or an attribute, which stay tokens.
    fn tokens(&mut self, tokens: TokenStream) {
        let mut trees = tokens.into_iter().peekable();
        let mut path: Option<Path> = None;
        while let Some(tree) = trees.next() {
            match tree {
                TokenTree::Ident(name) => {
                    let line = name.span().start().line;
                    let open = path.get_or_insert_with(|| Path {
                        segments: Vec::new(),
                        line,
                    });
                    open.segments.push(name.to_string());
                    if is_colon(trees.peek()) {
                        trees.next();
                        if is_colon(trees.peek()) {
                            trees.next();
                            continue;
                        }
                    }
                    self.paths.extend(path.take());
                }
                TokenTree::Group(group) => {
                    self.paths.extend(path.take());
                    self.tokens(group.stream());
                }
                _ => self.paths.extend(path.take()),
            }
        }
        self.paths.extend(path);
    }
}

impl<'ast> Visit<'ast> for Items {
    fn visit_item(&mut self, item: &'ast Item) {
        if attributes(item).iter().any(is_for_tests) {
            return;
        }
        match item {
            Item::Use(item) => return self.import(item),
            Item::Mod(module) => return self.module(module),
            _ => self.defined.extend(name(item)),
        }
        visit::visit_item(self, item);
    }

    fn visit_impl_item_fn(&mut self, function: &'ast syn::ImplItemFn) {
        if !function.attrs.iter().any(is_for_tests) {
            visit::visit_impl_item_fn(self, function);
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        if path.leading_colon.is_none() {
            self.paths.push(Path {
                segments: path
                    .segments
                    .iter()
                    .map(|segment| segment.ident.to_string())
                    .collect(),
                line: path.span().start().line,
            });
        }
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, called: &'ast syn::Macro) {
        self.tokens(called.tokens.clone());
        visit::visit_macro(self, called);
    }

    fn visit_meta_list(&mut self, list: &'ast syn::MetaList) {
        self.tokens(list.tokens.clone());
    }
}

fn is_colon(tree: Option<&TokenTree>) -> bool {
    matches!(tree, Some(TokenTree::Punct(punct)) if punct.as_char() == ':')
}

/// Every name of a use tree with its whole path. `self` at the end stands for the module before it.
fn flatten(
    tree: &UseTree,
    before: &mut Vec<String>,
    names: &mut Vec<(Option<String>, Vec<String>)>,
) {
    let with = |before: &[String], name: String| {
        let mut path = before.to_vec();
        if name != "self" || path.is_empty() {
            path.push(name);
        }
        path
    };
    match tree {
        UseTree::Path(path) => {
            before.push(path.ident.to_string());
            flatten(&path.tree, before, names);
            before.pop();
        }
        UseTree::Name(name) => {
            let path = with(before, name.ident.to_string());
            names.push((path.last().cloned(), path));
        }
        UseTree::Rename(rename) => {
            let path = with(before, rename.ident.to_string());
            names.push((Some(rename.rename.to_string()), path));
        }
        UseTree::Glob(_) => names.push((None, before.clone())),
        UseTree::Group(group) => group
            .items
            .iter()
            .for_each(|tree| flatten(tree, before, names)),
    }
}

fn name(item: &Item) -> Option<String> {
    let ident = match item {
        Item::Const(item) => &item.ident,
        Item::Enum(item) => &item.ident,
        Item::Fn(item) => &item.sig.ident,
        Item::Macro(item) => item.ident.as_ref()?,
        Item::Static(item) => &item.ident,
        Item::Struct(item) => &item.ident,
        Item::Trait(item) => &item.ident,
        Item::Type(item) => &item.ident,
        Item::Union(item) => &item.ident,
        _ => return None,
    };
    Some(ident.to_string())
}

fn attributes(item: &Item) -> &[syn::Attribute] {
    match item {
        Item::Const(item) => &item.attrs,
        Item::Enum(item) => &item.attrs,
        Item::Fn(item) => &item.attrs,
        Item::Impl(item) => &item.attrs,
        Item::Macro(item) => &item.attrs,
        Item::Mod(item) => &item.attrs,
        Item::Static(item) => &item.attrs,
        Item::Struct(item) => &item.attrs,
        Item::Trait(item) => &item.attrs,
        Item::Type(item) => &item.attrs,
        Item::Use(item) => &item.attrs,
        _ => &[],
    }
}

/// `#[cfg(test)]`, alone or among other conditions.
fn is_for_tests(attribute: &syn::Attribute) -> bool {
    let syn::Meta::List(list) = &attribute.meta else {
        return false;
    };
    let words = list.tokens.to_string();
    list.path.is_ident("cfg")
        && !words.contains("not")
        && words
            .split(|c: char| !c.is_alphanumeric() && c != '_')
            .any(|word| word == "test")
}
