//! A file played on the plugin's two decks, with the moving deck's offset and the comb measured beside it.
//!
//! Promises: what is written is in time with the file, the plugin's latency taken out; null points are found to a fraction
//! of a sample. Called by `sweep`, `demo` and `sheet`. May use `audio` and the progress bar; knows no option of a command.

mod automation;
mod automation_line;
mod bars;
mod comb_probe;
mod course;
mod instance;
mod null_points;
mod offset_probe;
mod render;

pub use automation::{Automation, Control};
pub use automation_line::AutomationLine;
pub use bars::Bars;
pub use comb_probe::{Column, ROWS, SPAN_HZ};
pub use null_points::NullPoint;
pub use render::{Ending, Probes, Rendered, render};
