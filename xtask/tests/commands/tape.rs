//! What the tape machine makes of files, by the core alone.

use plumbline_dsp::print::settings::PrintSettings;
use plumbline_dsp::print::{Print, PrintSetup};

/// A file's channels on tape, the latency taken out.
pub fn printed(channels: &[Vec<f32>], rate: u32, settings: &PrintSettings) -> Vec<Vec<f32>> {
    let mut print = Print::new(PrintSetup {
        sample_rate: f64::from(rate),
        channels: channels.len(),
    });
    let latency = print.latency();
    let mut audio = channels.to_vec();
    for channel in &mut audio {
        channel.resize(channel.len() + latency, 0.0);
    }
    let mut slices: Vec<&mut [f32]> = audio.iter_mut().map(Vec::as_mut_slice).collect();
    print.process(&mut slices, 0.0, settings);
    audio.iter_mut().for_each(|channel| {
        channel.drain(..latency);
    });
    audio
}
