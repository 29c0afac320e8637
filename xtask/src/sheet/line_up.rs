//! The line-up of the tape machine as a table of the recall sheet.

use super::table::Table;
use crate::tape::LineUp;

/// Each setting of the print and its value.
pub fn table(tape: &LineUp) -> Table {
    Table {
        caption: "The print's line-up".to_owned(),
        heads: ["tape", ""].map(str::to_owned).to_vec(),
        rows: tape.rows().into_iter().map(Vec::from).collect(),
    }
}
