//! Controls that a user takes hold of: buttons, choices, numbers, tabs, and their rows.
//!
//! Promises whole gestures (begin, values, end) and targets of at least 24 points. Called by the pages and by the views
//! that can be moved; calls drawing and frame.

mod button;
mod choice;
mod control_rows;
mod double_click;
mod dropdown;
mod momentary;
mod number;
mod number_entry;
mod number_field;
mod tabs;
mod text_entry;
mod unit;

pub use button::{ButtonState, HEIGHT, button_width, focus_outline, text_button, text_width};
pub use choice::{Choice, ChoiceOption, Switch, choice, choice_width, switch};
pub use control_rows::{ControlItem, control_rows, control_rows_height};
pub use double_click::may_be_doubled;
pub use momentary::momentary;
pub use number::NumberField;
pub use number_field::number_field;
pub use tabs::{tabs, tabs_width};
pub use text_entry::text_entry;
pub use unit::Unit;
