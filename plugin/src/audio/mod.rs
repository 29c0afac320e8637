//! One activation's audio path: from the host's buffers through alignment and decks back to the host.
//!
//! Promises that `Processor::process` never allocates, locks, waits or fails. Called by the instance; calls the analysis
//! (through its feed), the parameters, the exchange and the core.

mod compare;
mod fixed_delay;
mod gain_ramp;
mod host_transport;
mod input;
mod monitor;
mod output_gate;
mod output_stage;
mod path_exchange;
mod processor;
mod setup;
mod stages;

pub use host_transport::host_transport;
pub use path_exchange::{PathExchange, path_exchange};
pub use processor::Processor;
pub use setup::{Render, Setup};
pub use stages::latency;
