//! What has become of the recall sheet that was asked for.

/// What has become of the last sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum SheetStatus {
    /// None was asked for.
    #[default]
    None,
    /// The dialog is open.
    Asking,
    Saved(String),
    /// Why it was not saved.
    Failed(String),
}
