//! A progress bar on standard error for work that takes longer than a second; silent without a terminal.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// How often the bar is drawn while nothing is counted.
const TICK: Duration = Duration::from_millis(120);

/// A bar over `frames` of audio; without a known length it only spins.
pub fn bar(what: &'static str, frames: Option<u64>) -> ProgressBar {
    let (bar, template) = match frames {
        Some(frames) => (
            ProgressBar::new(frames),
            "{msg:12} {wide_bar} {percent:>3} % {eta}",
        ),
        None => (ProgressBar::no_length(), "{msg:12} {spinner} {elapsed}"),
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.enable_steady_tick(TICK);
    bar.with_message(what)
}
