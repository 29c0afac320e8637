//! A player for a piece of sound that is inside the page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;

use super::drawing::escape;

/// Plays a FLAC file; `title` is what a screen reader says.
pub fn player(title: &str, flac: &[u8]) -> String {
    format!(
        "<audio controls preload=\"none\" aria-label=\"{}\" src=\"data:audio/flac;base64,{}\"></audio>",
        escape(title),
        BASE64.encode(flac)
    )
}
