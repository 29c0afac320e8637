//! `cargo xtask preview`: the window without a host, on the demo session.

use std::time::Duration;

use clap::{Args, ValueEnum};
use plumbline_hosting::Bundle;

use crate::failure::{Outcome, refuse};
use crate::project::plugin;
use crate::window_session::{Tracks, WindowSession};

/// Options of `cargo xtask preview`.
#[derive(Args, Clone, Copy, Debug)]
pub struct PreviewOptions {
    /// Close the window by itself after this many seconds
    #[arg(long)]
    seconds: Option<u32>,
    /// The microphone on the side chain
    #[arg(long, value_enum, default_value = "kick")]
    spot: PreviewSpot,
}

/// Which of the demo's close microphones is the spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum PreviewSpot {
    Kick,
    Snare,
    None,
}

impl PreviewSpot {
    /// The demo's overheads with this microphone.
    fn tracks(self) -> Tracks {
        let mut tracks = Tracks::demo();
        match self {
            Self::Snare => {}
            Self::Kick => tracks.spot = Tracks::kick(),
            Self::None => tracks.spot.clear(),
        }
        tracks
    }
}

/// Opens the window and plays until it is closed.
pub fn run(options: PreviewOptions) -> Outcome {
    if std::env::var_os("DISPLAY").is_none() {
        return refuse("no display to open a window on: set DISPLAY");
    }
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let measure = |instance: &mut plumbline_hosting::Instance| instance.set("measure", 1.0);
    let mut session = WindowSession::open(&bundle, options.spot.tracks(), measure)?;
    let time = options.seconds.map(u64::from).map(Duration::from_secs);
    session.play(time.unwrap_or(Duration::MAX))?;
    let hits = session
        .instance
        .measurement()?
        .map_or(0, |found| found.hits);
    println!("{hits} hits of the aligned drum measured");
    Ok(())
}
