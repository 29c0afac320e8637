//! How long files and functions are: one idea a file, and functions that are seen at one glance.

use proc_macro2::Span;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

use super::files::File;

/// Most lines of a source file.
const MOST_FILE_LINES: usize = 400;
/// Most lines of a function, from its `fn` to its closing brace.
const MOST_FUNCTION_LINES: usize = 60;

/// Every file and function that is too long.
pub fn findings(files: &[File]) -> Vec<String> {
    let sources = files.iter().filter(|file| file.is_source());
    sources
        .flat_map(|file| {
            let mut findings: Vec<String> = long_file(file).into_iter().collect();
            findings.extend(long_functions(file));
            findings
        })
        .collect()
}

fn long_file(file: &File) -> Option<String> {
    let lines = file.text.lines().count();
    (lines > MOST_FILE_LINES).then(|| {
        format!(
            "{}: {lines} lines, at most {MOST_FILE_LINES}: one idea a file",
            file.path
        )
    })
}

fn long_functions(file: &File) -> Vec<String> {
    if !file.is_rust() {
        return Vec::new();
    }
    let Ok(syntax) = syn::parse_file(&file.text) else {
        return vec![format!("{}: not Rust that can be read", file.path)];
    };
    let mut functions = Functions::default();
    functions.visit_file(&syntax);
    functions
        .found
        .iter()
        .filter(|function| function.lines > MOST_FUNCTION_LINES)
        .map(|function| {
            format!(
                "{}:{}: `{}` has {} lines, at most {MOST_FUNCTION_LINES}: give its steps names",
                file.path, function.at, function.name, function.lines
            )
        })
        .collect()
}

struct Function {
    name: String,
    /// Line of the file.
    at: usize,
    lines: usize,
}

#[derive(Default)]
struct Functions {
    found: Vec<Function>,
}

impl Functions {
    fn note(&mut self, signature: &syn::Signature, end: Span) {
        let at = signature.fn_token.span().start().line;
        self.found.push(Function {
            name: signature.ident.to_string(),
            at,
            lines: end.end().line + 1 - at,
        });
    }
}

impl<'ast> Visit<'ast> for Functions {
    fn visit_item_fn(&mut self, function: &'ast syn::ItemFn) {
        self.note(&function.sig, function.block.span());
        visit::visit_item_fn(self, function);
    }

    fn visit_impl_item_fn(&mut self, function: &'ast syn::ImplItemFn) {
        self.note(&function.sig, function.block.span());
        visit::visit_impl_item_fn(self, function);
    }

    fn visit_trait_item_fn(&mut self, function: &'ast syn::TraitItemFn) {
        if let Some(block) = &function.default {
            self.note(&function.sig, block.span());
        }
        visit::visit_trait_item_fn(self, function);
    }
}
