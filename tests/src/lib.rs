//! A small host for the built plugin: loads the CLAP in-process, feeds it, reads it back.
//!
//! ```no_run
//! use plumbline_hosting::{Bundle, Layout, Session};
//!
//! let bundle = Bundle::load("target/release/libplumbline.so")?;
//! let mut instance = bundle.open(&Session {
//!     sample_rate: 48_000.0,
//!     max_block: 512,
//!     layout: Layout::StereoSpotMono,
//!     offline: true,
//! })?;
//! instance.set("measure", 1.0)?;
//! let (mut first, mut second, spot) = ([0.0; 512], [0.0; 512], [0.0; 512]);
//! instance.process(&mut [&mut first, &mut second], &[&spot])?;
//! println!("{:?}", instance.measurement()?);
//! # Ok::<(), anyhow::Error>(())
//! ```

mod build;
mod bundle;
mod editor;
mod events;
mod fractional_delay;
mod gesture;
mod host;
mod instance;
mod noise;
mod parameters;
#[cfg(target_os = "linux")]
mod pointer_and_keys;
mod saved_state;
#[cfg(target_os = "linux")]
mod screen;
#[cfg(target_os = "linux")]
mod screenshot;
mod session;
mod simulated_kit;
mod song;
mod starting_points;
mod vst3_preset;
#[cfg(target_os = "linux")]
mod window;
mod window_state;

pub use build::{Build, build};
pub use bundle::Bundle;
pub use fractional_delay::delayed;
pub use gesture::Gesture;
pub use instance::Instance;
pub use noise::{noise, random_lengths};
pub use parameters::parameter_number;
pub use saved_state::{Applied, Drum, Lag, LoggedHit, Refused, SavedMeasurement};
#[cfg(target_os = "linux")]
pub use screen::{PACKAGES, Screen};
#[cfg(target_os = "linux")]
pub use screenshot::Screenshot;
pub use session::{Layout, Session};
pub use simulated_kit::{SimulatedDrum, SimulatedKit, SimulatedMicrophone, Way};
pub use song::{Song, Tempo};
pub use starting_points::StartingPoint;
#[cfg(target_os = "linux")]
pub use window::{Window, WindowStatus};
