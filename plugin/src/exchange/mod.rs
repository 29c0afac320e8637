//! Everything that crosses from one thread to another: wait-free on the audio thread's side, allocated once.
//!
//! Each type names its one writer and its one reader. What does not fit is dropped and counted.
//! Called by every room above; calls the core only.

mod call;
mod capture;
mod deck_feed;
mod deck_snapshot;
mod display;
mod pair_snapshot;
mod pick;
mod report;
mod report_inbox;
mod session_news;
mod tape_feed;
mod telemetry;
mod triple_buffer;

pub use call::Call;
pub use capture::{
    CaptureEvent, CaptureReader, CaptureWriter, Mark, MeasurementStart, Pace, capture,
};
pub use deck_feed::DeckFeed;
#[cfg(feature = "editor")]
pub use deck_snapshot::{DeckSnapshot, TransportState};
pub use display::Display;
#[cfg(not(feature = "editor"))]
pub use display::NoDisplay;
pub use pair_snapshot::PairSnapshot;
pub use pick::{Asked, PICKING_HITS, Pick, PickedByPlaying};
pub use report::{LOG_LENGTH, Report};
pub use report_inbox::ReportInbox;
pub use session_news::SessionNews;
pub use tape_feed::TapeFeed;
pub use telemetry::Telemetry;
pub use triple_buffer::{TripleBufferReader, TripleBufferWriter, triple_buffer};
