//! An example beside the one that it is compared with: what is said of that one, and both curves.

use crate::manual::examples::Example;
use crate::sheet::{Mark, Series};

/// Said of the example that a group's others stand beside.
pub const COMPARED_WITH: &str = "what the others are compared with";

/// The curves of an example and of the one that it stands beside.
pub fn beside(example: &Example, this: Vec<(f64, f64)>, other: Vec<(f64, f64)>) -> [Series; 2] {
    let accent = Series {
        name: "this file".to_owned(),
        mark: Mark::Accent,
        points: this,
    };
    let line = Series {
        name: example.against.to_owned(),
        mark: Mark::Line,
        points: other,
    };
    [accent, line]
}
