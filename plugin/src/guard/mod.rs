//! Stands between the host and the framework: whatever buffers a host hands over, the framework gets whole ones.
//!
//! A side chain that is not connected arrives as null pointers, as a bus of too few channels or not at all; all three
//! are allowed or common, and the framework reads past or through them. Here they become silence. Events and parameters
//! of a block are taken here as well, in order and within their ranges. Called by the host; calls the framework, the
//! instance and, for the purpose that a state is loaded for, the parameters.

mod buffers;
mod clap;
mod exclusive;
mod parameters;
mod pinned;
mod switches;
mod vst3;

/// Before the first instance is made, and not while a host only looks for plugins.
fn begin() {
    pinned::pin_library();
    nice_plug::wrapper::setup_logger::<crate::instance::Plumbline>();
}

/// Runs what belongs to the audio thread; the tests' build aborts when it allocates.
fn in_real_time<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(all(debug_assertions, feature = "assert_process_allocs"))]
    return nice_assert_no_alloc::assert_no_alloc(work);
    #[cfg(not(all(debug_assertions, feature = "assert_process_allocs")))]
    work()
}
