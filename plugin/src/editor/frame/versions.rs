//! What can be undone, which of two settings is heard, and what has become of a preset.

/// Which of two settings is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Side {
    #[default]
    A,
    B,
}

/// What has become of the last preset.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum PresetStatus {
    /// None was called up.
    #[default]
    None,
    /// A dialog is open.
    Asking,
    Saved(String),
    /// The name of what was called up.
    CalledUp(String),
    /// Why not.
    Failed(String),
}

/// The settings' past, and their other version.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Versions {
    /// Steps that can be undone.
    pub undo: usize,
    /// Steps that can be done again.
    pub redo: usize,
    pub side: Side,
    pub preset: PresetStatus,
}
