//! The plugin as a host sees it.

fn main() {}
