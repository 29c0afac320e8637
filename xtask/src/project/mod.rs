//! The project as Cargo and the system see it: folders, packages, and the plugin built and bundled.
//!
//! Promises: one place that runs cargo for the plugin's build, safe for two commands at once. Called by the commands. Uses
//! nothing but the way commands fail.

pub mod copy;
mod module_info;
pub mod packages;
pub mod plugin;
pub mod targets;
pub mod workspace;
