//! The window: a technical drawing that shows where the microphones are and what the correction does.
//!
//! Promises the host whole gestures, and that it reads copies only. Called by the instance and, for
//! its windows, by the framework; calls params, session and exchange. Inside, a room may use those on the right of it:
//!
//! | room | may use |
//! |---|---|
//! | `host_editor`, `window`, `scene`, `bounds`, `pin` | `recall`, `pages`, `frame`, `action` |
//! | `recall` | `wording`, `drawing`, `frame` |
//! | `pages` | `views`, `widgets`, `wording`, `drawing`, `frame`, `action` |
//! | `views` | `widgets`, `wording`, `drawing`, `frame`, `action` |
//! | `widgets` | `drawing`, `frame`, `action` |
//! | `wording` | `drawing`, `frame` |
//! | `action` | `frame` |
//! | `drawing`, `frame` | |

mod action;
mod bounds;
mod drawing;
mod frame;
mod host_editor;
mod pages;
mod pin;
mod recall;
mod scene;
#[cfg(test)]
mod tests;
mod views;
mod widgets;
mod window;
mod wording;

pub use host_editor::PlumblineEditor;
pub use scene::{Scene, SceneFeeds};
