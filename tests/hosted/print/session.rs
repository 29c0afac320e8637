//! Instances with the tape in their path, and what the core alone makes of the same samples.

use crate::decks::instance::{DecksInstance, DecksSession, Pair};
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_dsp::print::{Print, PrintSetup};
use plumbline_hosting::noise;

/// A control and where it stands, in its own unit.
pub type Setting = (&'static str, f64);

/// Places of the mode's choice.
pub const MODES: [(&str, f64); 2] = [("Align", 0.0), ("Sweep", 1.0)];

/// Samples of a render.
pub const LENGTH: usize = 24_000;

/// In a mode, the print on or off.
pub fn open(session: DecksSession, mode: f64, print: f64, more: &[Setting]) -> DecksInstance {
    let settings = [&[("mode", mode), ("print", print)], more].concat();
    DecksInstance::open(session, &settings)
}

/// Noise that peaks 12 dB below full scale: 6 dB over the reference of the line-up.
pub fn loud_pair() -> Pair {
    [3, 4].map(|seed| noise(LENGTH, seed).iter().map(|x| 0.25 * x).collect())
}

/// The same as the core prints it from the song's start on, `late` samples behind the input.
pub fn printed(session: DecksSession, input: &Pair, late: usize, settings: &PrintSettings) -> Pair {
    let mut print = Print::new(PrintSetup {
        sample_rate: session.rate,
        channels: 2,
    });
    let mut out = input.clone().map(|channel| {
        let mut delayed = vec![0.0; late];
        delayed.extend(&channel[..channel.len() - late]);
        delayed
    });
    let [first, second] = &mut out;
    let song_s = -(late as f64) / session.rate;
    print.process(&mut [first, second], song_s, settings);
    out
}
