//! Commands of the project, one file each.
fn main() {}
