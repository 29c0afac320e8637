//! The engineer's choices, and the plugin opened and set up with them.

use plumbline_dsp::plan::{Anchor, Match};
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_hosting::{Instance, Layout, Session};

use crate::audio::BLOCK;

/// The engineer's choices, as the plugin's parameters take them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Which signal stays.
    pub anchor: Anchor,
    /// Attack or Body.
    pub target: Match,
    /// Which drum is aligned.
    pub drum: AskedDrum,
    /// Part of the correction, per cent.
    pub amount: f64,
    /// Air, degrees Celsius.
    pub temperature_c: f64,
    /// Reach in ms; `None` gives the anchor what it needs.
    pub reach_ms: Option<f64>,
    /// Level of the deciding spot in the print, dB; `None`: it is not in it.
    pub spot_in_print_db: Option<f64>,
    /// The tape that the print is on; `None`: the print is as it was mixed.
    pub tape: Option<PrintSettings>,
}

impl Settings {
    /// A print is made: with the spot in it, on tape, or both.
    pub fn makes_print(&self) -> bool {
        self.spot_in_print_db.is_some() || self.tape.is_some()
    }
}

/// Which drum is aligned, as the plugin's parameter names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AskedDrum {
    /// The spot's own unless that is the kick, else the snare.
    Auto,
    /// The snare.
    Snare,
    /// The kick.
    Kick,
    /// A tom.
    Tom,
}

/// A session as an offline render opens it.
pub fn session(sample_rate: u32, spot_channels: Option<usize>) -> Session {
    let layout = match spot_channels {
        None => Layout::Stereo,
        Some(1) => Layout::StereoSpotMono,
        Some(_) => Layout::StereoSpotStereo,
    };
    Session {
        sample_rate: f64::from(sample_rate),
        max_block: BLOCK as u32,
        layout,
        offline: true,
    }
}

/// Sets the choices that both passes share.
pub fn prepare(instance: &mut Instance, settings: &Settings) -> anyhow::Result<()> {
    instance.set_text("anchor", &format!("{:?}", settings.anchor))?;
    instance.set_text("match", &format!("{:?}", settings.target))?;
    instance.set_text("drum", &format!("{:?}", settings.drum))?;
    instance.set("amount", settings.amount)?;
    instance.set("temperature", settings.temperature_c)
}
