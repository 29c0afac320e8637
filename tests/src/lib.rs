//! A small host for the built plugin.
