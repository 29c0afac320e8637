//! One instance of the plugin, as the framework drives it: makes the other rooms and connects them.
//!
//! Promises the host a latency that is true to the sample. Called by the guard, through the framework; calls every room
//! but the guard.

mod analysis_handle;
mod formats;
mod latency_change;
mod layouts;
mod plumbline;
mod query;

pub use layouts::layout_of;
pub use plumbline::Plumbline;
pub use query::InstanceQuery;
