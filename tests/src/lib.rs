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
mod desk;
mod editor;
mod gesture;
#[cfg(target_os = "linux")]
mod hand;
mod host;
mod instance;
mod noise;
mod parameters;
#[cfg(target_os = "linux")]
mod photo;
mod saved;
#[cfg(target_os = "linux")]
mod screen;
mod song;
#[cfg(target_os = "linux")]
mod window;

pub use build::{Build, build};
pub use bundle::{Bundle, Layout, Session};
pub use gesture::Gesture;
pub use instance::Instance;
pub use noise::{noise, random_lengths};
#[cfg(target_os = "linux")]
pub use photo::Photo;
pub use saved::{Applied, Lag, LoggedHit, Refused, SavedMeasurement, Voice};
#[cfg(target_os = "linux")]
pub use screen::{PACKAGES, Screen};
pub use song::{Song, Tempo};
#[cfg(target_os = "linux")]
pub use window::{Fate, Window};
