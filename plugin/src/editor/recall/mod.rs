//! The recall sheet: what is needed to set the same microphones up again, as one page on its own.
//!
//! Promises that the host never waits: the page is made of a frame, and the file dialog runs on a thread of its own. Called by
//! the window; calls frame, wording and the system's file dialog.

mod date;
mod dialog;
mod drawings;
mod sheet;

pub use dialog::SheetWriter;
pub use sheet::recall_sheet;
