//! A recorded take measured and corrected by the built plugin, in two passes over its files.
//!
//! Promises: the first pass ([`measure`]) gives what the plugin says of each spot; the second ([`align`]) plays the take
//! through the plugin with that measurement, writes what is asked for, and returns everything that answers and sheets
//! are made of. Called by the commands and by `sheet`. May use `audio` and the progress bar; knows no option of a command.

mod aligned_take;
mod correcting;
mod drum_gaps;
mod hit_spectrum;
mod hit_windows;
mod latency_trim;
mod measuring;
mod names;
mod output_file;
mod settings;
mod silent_channels;
mod spot_file;
mod spot_measurement;
mod units;
mod verdict;

pub use aligned_take::{AlignedTake, Outputs, align};
pub use drum_gaps::{DrumGap, drum_gaps};
pub use hit_spectrum::{BandLoss, LagPoint};
pub use measuring::{Measurements, TimeRange, measure};
pub use names::{polarity_name, refused_counts};
pub use output_file::{OutputFile, Part, Version};
pub use settings::{AskedDrum, Settings};
pub use spot_file::{MovedSpot, SpotFile};
pub use spot_measurement::SpotMeasurement;
pub use units::Units;
