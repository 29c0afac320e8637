//! The measurement off the audio thread: on a thread of its own, or inline in an offline render.
//!
//! Promises a report in both triple buffers after every counted hit, and that an offline render is deterministic.
//! Called by the audio (through `MeasurementFeed`) and by the instance; calls the exchange and the core's analyser.

mod analysis_thread;
mod channel_activity;
mod display_feed;
mod feed;
mod measuring;
mod playing;
mod waker;

pub use analysis_thread::AnalysisThread;
pub use display_feed::DisplayFeed;
pub use feed::{MeasurementFeed, Route};
pub use measuring::{Analysis, ReportOutputs};
