//! Drawings as inline SVG, and the recall sheet: one self-contained page with plan, arrivals, lag curve and verdict.
//!
//! Promises: nothing from elsewhere is needed to look at a page; a drawing is a function from numbers to text. Called by
//! `align`, `sweep`, `demo` and `figures`. May use the results of `alignment` and `decks`; measures nothing itself.

mod arrivals;
mod chart;
mod decks;
mod drawing;
mod lag;
mod line_up;
mod loss;
mod page;
mod plan;
mod player;
mod recall;
mod table;

pub use chart::{Axis, Mark, Ruling, Series, draw as draw_chart};
pub use decks::draw as draw_decks;
pub use drawing::{STYLE, escape, signed, standalone};
pub use line_up::table as line_up;
pub use player::player;
pub use recall::write as write_recall_sheet;
pub use table::{Extras, Table};
