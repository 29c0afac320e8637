//! Plumbline as a plugin: aligns a pair of drum overheads to the sample, and slips it like two tape decks.
//!
//! This crate knows the host; the mathematics is in `plumbline-dsp`. Each folder is a room with one entrance, its `mod`
//! file. A room may use the rooms on the right of its own name and the core, nothing else:
//!
//! | room | may use | job |
//! |---|---|---|
//! | `guard` | `instance`, `params`, `presets` | stands between the host and the framework |
//! | `instance` | `audio`, `analysis`, `editor`, `params`, `session`, `exchange` | one instance, as the framework drives it |
//! | `audio` | `analysis`, `params`, `exchange` | one activation's audio path |
//! | `editor` | `presets`, `params`, `session`, `exchange` | the window |
//! | `presets` | `params` | settings that are called up by name |
//! | `params` | `session` | the parameters and the core's settings made of them |
//! | `analysis` | `exchange` | the measurement off the audio thread |
//! | `session` | `exchange` | what is saved beside the parameters |
//! | `exchange` | | what crosses from one thread to another |

mod analysis;
mod audio;
#[cfg(feature = "editor")]
mod editor;
mod exchange;
mod guard;
mod instance;
mod params;
mod presets;
mod session;
