//! A table of numbers as a measured test wrote it: a head of names, then rows.

use anyhow::{Context, Result, ensure};

/// Columns by name.
#[derive(Clone, Debug, PartialEq)]
pub struct Numbers {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Numbers {
    /// Reads comma-separated lines.
    ///
    /// # Errors
    ///
    /// When there is no head, or a row is longer or shorter than it.
    pub fn read(text: &str) -> Result<Self> {
        let cells = |line: &str| line.split(',').map(|cell| cell.trim().to_owned()).collect();
        let mut lines = text.lines();
        let names: Vec<String> = cells(lines.next().context("the table is empty")?);
        let rows: Vec<Vec<String>> = lines.map(cells).collect();
        ensure!(
            rows.iter().all(|row| row.len() == names.len()),
            "a row is not as long as the head"
        );
        Ok(Self { names, rows })
    }

    /// The rows whose cells are as given.
    pub fn only(&self, wanted: &[(&str, &str)]) -> Self {
        let is = |row: &&Vec<String>| {
            let cell = |name: &str| Some(&row[self.names.iter().position(|one| one == name)?]);
            wanted
                .iter()
                .all(|(name, text)| cell(name).is_some_and(|cell| cell == text))
        };
        Self {
            names: self.names.clone(),
            rows: self.rows.iter().filter(is).cloned().collect(),
        }
    }

    /// Two columns as points; cells that are no numbers are left out.
    pub fn points(&self, across: &str, up: &str) -> Vec<(f64, f64)> {
        let column = |name: &str| self.names.iter().position(|one| one == name);
        let (Some(x), Some(y)) = (column(across), column(up)) else {
            return Vec::new();
        };
        let number = |text: &String| text.parse::<f64>().ok();
        self.rows
            .iter()
            .filter_map(|row| Some((number(&row[x])?, number(&row[y])?)))
            .collect()
    }

    /// The largest of a column at each value of another, in order of that.
    pub fn worst(&self, across: &str, up: &str) -> Vec<(f64, f64)> {
        let mut points = self.points(across, up);
        points.sort_by(|one, other| one.0.total_cmp(&other.0).then(other.1.total_cmp(&one.1)));
        points.dedup_by(|later, first| later.0 == first.0);
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "rate,hz,error\n44100,10,-120\n44100,10,-118\n48000,10,-90\n44100,5,-130\n";

    #[test]
    fn rows_are_chosen_and_the_worst_kept() {
        let table = Numbers::read(TABLE).unwrap();
        let worst = table.only(&[("rate", "44100")]).worst("hz", "error");
        assert_eq!(worst, [(5.0, -130.0), (10.0, -118.0)]);
        assert!(table.points("hz", "nothing").is_empty());
    }

    #[test]
    fn a_short_row_is_refused() {
        for text in ["", "a,b\n1\n"] {
            assert!(Numbers::read(text).is_err(), "{text:?}");
        }
    }
}
