//! Plumbline as a plugin.
