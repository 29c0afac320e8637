//! Drawings: each a function of a `Frame` that draws one panel and says the same for screen readers.
//!
//! Called by the pages; calls widgets, wording, drawing and frame.

mod comb_view;
mod course_view;
mod gap_view;
mod hand_strip;
mod lag_view;
mod mono_sum_view;
mod plan_view;

pub use comb_view::comb_view;
pub use course_view::course_view;
pub use gap_view::{gap_view, gap_words, later_color};
pub use hand_strip::hand_strip;
pub use lag_view::lag_view;
pub use mono_sum_view::mono_sum_view;
pub use plan_view::plan_view;
