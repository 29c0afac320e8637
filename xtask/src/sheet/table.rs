//! A table of the recall sheet, and what else a command puts on the sheet.

use super::drawing::escape;

/// Tables and drawings beside the sheet's own.
#[derive(Default)]
pub struct Extras {
    /// At the end of the right column.
    pub tables: Vec<Table>,
    /// Inline SVG, at the end of the left column.
    pub drawings: Vec<String>,
    /// Sound to be heard, before everything else: a title and a FLAC file.
    pub sounds: Vec<(&'static str, Vec<u8>)>,
}

/// A table of the sheet.
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Column heads.
    pub heads: Vec<String>,
    /// Cells, the first of each row a name.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// As HTML.
    pub fn html(&self) -> String {
        let heads: String = self
            .heads
            .iter()
            .map(|head| format!("<th>{}</th>", escape(head)))
            .collect();
        let rows: String = self
            .rows
            .iter()
            .map(|row| format!("<tr>{}</tr>", cells(row)))
            .collect();
        format!(
            "<table class=\"panel\"><caption>{}</caption><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>",
            escape(&self.caption)
        )
    }
}

fn cells(row: &[String]) -> String {
    row.iter()
        .map(|cell| format!("<td>{}</td>", escape(cell)))
        .collect()
}
