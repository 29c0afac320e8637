//! Tables of measurements: one row a kind of take, printed, written down and held against limits.

use crate::score::{Score, Trial};
use crate::support::write_lines;

/// A wrong answer must not claim this probability.
const WRONG_AND_SURE: f64 = 0.5;

/// Takes of one kind.
pub struct Row {
    /// Cells of the first columns, with commas between them.
    pub kind: String,
    pub trials: Vec<Trial>,
    /// Least part of the takes whose answer is right.
    pub least: f64,
    /// Largest part of the takes whose answer is wrong and claims a half or more.
    pub wrong_and_sure: f64,
}

impl Row {
    pub fn score(&self) -> Score {
        Score::of(self.trials.iter())
    }

    /// Every take counts: so many of a hundred, to the take.
    pub fn held_exactly(&self) -> Option<String> {
        let score = self.score();
        let wanted = (self.least * score.takes as f64).ceil() as usize;
        (score.right < wanted).then(|| format!("{}: {wanted} wanted: {score}", self.kind))
    }
}

/// Prints the table, writes `target/measured/NAME.csv` and returns what no row may show: a gross error with a probability
/// of a half or more, a gap that no pair of overheads has.
pub fn report(name: &str, columns: &str, rows: &[Row]) -> Vec<String> {
    let mut lines = vec![format!("{columns},{}", Score::HEADER)];
    let mut outside = Vec::new();
    for row in rows {
        let (kind, score) = (&row.kind, row.score());
        println!("{kind:22} {score}");
        lines.push(format!("{kind},{}", score.csv()));
        let sure = |trial: &&Trial| trial.gross() && trial.confidence() >= WRONG_AND_SURE;
        let sure = row.trials.iter().filter(sure).count();
        let allowed = (row.wrong_and_sure * score.takes as f64).ceil() as usize;
        if sure > allowed || score.absurd > 0 {
            outside.push(format!("{kind}: wrong and sure, or absurd: {score}"));
        }
    }
    let all = Score::of(rows.iter().flat_map(|row| &row.trials));
    println!("{:22} {all}", "all");
    write_lines(name, &lines);
    outside
}
