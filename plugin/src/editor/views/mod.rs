//! Drawings: each a function of a `Frame` that draws one panel and says the same for screen readers.
//!
//! Called by the pages; calls widgets, wording, drawing and frame.
//! A view moves nothing: what a hand may move is a widget.

mod comb_view;
mod correlation_scales;
mod course_scale;
mod course_view;
mod frequency_axis;
mod gap_facts;
mod gap_view;
mod hand_strip;
mod kit_scale;
mod kit_view;
mod lag_view;
mod mono_sum_view;
mod null_handle;
mod plan_drums;
mod plan_labels;
mod plan_layout;
mod plan_sides;
mod plan_view;
mod print_view;
mod strip_gestures;
mod strip_use;
mod tape_levels_view;
mod tape_response_view;
mod usual_kit;

pub use comb_view::comb_view;
pub use course_view::course_view;
pub use gap_view::{gap_view, later_color};
pub use hand_strip::hand_strip;
pub use kit_view::kit_view;
pub use lag_view::lag_view;
pub use mono_sum_view::mono_sum_view;
pub use plan_view::plan_view;
pub use print_view::print_view;
