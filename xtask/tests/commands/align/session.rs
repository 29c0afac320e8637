//! A session put together from strokes, and what the built plugin measures on it.

use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::{Bundle, noise};
use xtask::alignment::{AskedDrum, Settings, SpotMeasurement, TimeRange, measure};
use xtask::audio::{Overheads, TakeFiles};
use xtask::project::plugin::built_clap;

use crate::files::Folder;

/// Samples a second of the recordings.
pub const RATE: u32 = 44_100;
/// Noise under the strokes, full scale one: -100 dB.
const FLOOR: f32 = 1e-5;

/// Pair and spot of a session.
pub struct Session {
    pub first: Vec<f32>,
    pub second: Vec<f32>,
    pub spot: Vec<f32>,
}

impl Session {
    /// Noise alone.
    pub fn silent(frames: usize, seed: u64) -> Self {
        let floor = |channel: u64| -> Vec<f32> {
            let noise = noise(frames, 3 * seed + channel);
            noise.iter().map(|sample| 2.0 * FLOOR * sample).collect()
        };
        Self {
            first: floor(0),
            second: floor(1),
            spot: floor(2),
        }
    }

    /// Adds one stroke, as first, second and spot recorded it, from a frame on.
    pub fn add(&mut self, start: usize, stroke: &[Vec<f32>; 3], level: f32) {
        let channels = [&mut self.first, &mut self.second, &mut self.spot];
        for (channel, stroke) in channels.into_iter().zip(stroke) {
            let sums = channel[start..].iter_mut().zip(stroke);
            sums.for_each(|(sum, sample)| *sum += level * sample);
        }
    }

    /// What the plugin measures on files of the session.
    pub fn measured(&self, bundle: &Bundle) -> SpotMeasurement {
        self.measured_on(bundle, AskedDrum::Auto)
    }

    /// The same on the drum asked for.
    pub fn measured_on(&self, bundle: &Bundle, drum: AskedDrum) -> SpotMeasurement {
        let folder = Folder::new();
        let pair = folder.wav("pair.wav", RATE, &[&self.first, &self.second]);
        let files = TakeFiles {
            overheads: Overheads::Together(pair),
            spots: vec![folder.wav("spot.wav", RATE, &[&self.spot])],
        };
        let settings = Settings {
            anchor: Anchor::Later,
            target: Match::Attack,
            drum,
            amount: 100.0,
            temperature_c: 20.0,
            reach_ms: None,
            spot_in_print_db: None,
            tape: None,
        };
        let measured = measure(bundle, &files, TimeRange::ALL, &settings);
        let mut measured = measured.unwrap_or_else(|error| panic!("{error}"));
        measured.spots.swap_remove(0)
    }
}

/// The built plugin.
pub fn load_plugin() -> Bundle {
    let clap = built_clap().unwrap_or_else(|error| panic!("{error}"));
    Bundle::load(clap).expect("the built CLAP loads")
}

/// At the recordings' rate.
pub fn samples(seconds: f64) -> f64 {
    seconds * f64::from(RATE)
}

/// Attack gap, samples.
pub fn gap(measurement: &SpotMeasurement) -> f64 {
    samples(measurement.gap.expect("a gap").attack_s)
}
