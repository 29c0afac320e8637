//! The window: a technical drawing that shows where the microphones are and what the correction does.
//!
//! Promises the host whole gestures, and that it reads copies only. Called by the instance and, for
//! its windows, by the framework; calls presets, params, session and exchange. Inside, a room may use those on the right of it:
//!
//! | room | may use |
//! |---|---|
//! | `host_editor`, `host_handle`, `host_presence`, `host_window`, `pacer`, `window`, `scene`, `bounds`, `pin` | `preset_files`, `preset_settings`, `history`, `recall`, `pages`, `drawing`, `frame`, `action` |
//! | `preset_files`, `preset_settings`, `history` | `dialog_answer`, `frame` |
//! | `recall` | `dialog_answer`, `wording`, `drawing`, `frame` |
//! | `pages` | `views`, `widgets`, `wording`, `drawing`, `frame`, `action` |
//! | `views` | `widgets`, `wording`, `drawing`, `frame`, `action` |
//! | `widgets` | `drawing`, `frame`, `action` |
//! | `wording` | `drawing`, `frame` |
//! | `action` | `frame` |
//! | `dialog_answer`, `drawing`, `frame` | |

mod action;
mod bounds;
mod dialog_answer;
mod drawing;
mod frame;
mod history;
mod host_editor;
mod host_handle;
mod host_presence;
mod host_window;
mod pacer;
mod pages;
mod preset_files;
mod preset_settings;
mod recall;
mod scene;
#[cfg(test)]
mod tests;
mod views;
mod widgets;
mod window;
mod window_versions;
mod wording;

pub use host_editor::PlumblineEditor;
pub use scene::{Scene, SceneFeeds};
