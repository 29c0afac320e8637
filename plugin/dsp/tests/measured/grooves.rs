//! Grooves of a whole kit, assembled from real strokes: the spot hears every drum, only its own may decide.

use std::path::Path;

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::DrumChoice;

use crate::noise::Noise;
use crate::recordings::{RATE, Stroke, folder, kit};
use crate::scene::Session;
use crate::support::{assert_near, write_csv};

/// Strokes of each drum through one choice of three microphones.
pub struct Kit {
    kick: Vec<Stroke>,
    snare: Vec<Stroke>,
    hat: Vec<Stroke>,
    toms: [Vec<Stroke>; 3],
}

impl Kit {
    pub fn read(folder: &Path, microphones: [&str; 3]) -> Self {
        let drum = |name| kit(folder, name, microphones);
        Self {
            kick: drum("ks"),
            snare: drum("sc"),
            hat: drum("ht"),
            toms: [drum("th"), drum("tm"), drum("tl")],
        }
    }

    /// 120 bpm: kick on 1 and 3, snare on 2 and 4 and a ghost note, sixteenth hats, two toms every second bar;
    /// 3 ms of human timing.
    pub fn groove(&self, bars: usize, seed: u64) -> Session {
        let mut noise = Noise::new(seed);
        let sixteenth = 0.125 * RATE;
        let length = ((bars * 16 + 8) as f64 * sixteenth) as usize;
        let mut session = Session::floor(RATE, length, 1e-5, &mut noise);
        let ghost = 1 + 2 * (noise.uniform() * 7.0) as usize;
        let mut hit = |noise: &mut Noise, strokes: &[Stroke], step: usize, gain: f64| {
            let stroke = &strokes[(noise.uniform() * strokes.len() as f64) as usize];
            let at = (4 + step) as f64 * sixteenth + 0.003 * RATE * noise.normal();
            session.add_scaled(stroke, at as usize, gain as f32);
        };
        for bar in 0..bars {
            for step in 0..16 {
                let now = bar * 16 + step;
                let level = noise.between(0.3, 0.6);
                hit(&mut noise, &self.hat, now, level);
                match step {
                    0 | 8 => hit(&mut noise, &self.kick, now, 1.0),
                    4 | 12 => hit(&mut noise, &self.snare, now, 1.0),
                    _ if step == ghost => hit(&mut noise, &self.snare[..2], now, 0.4),
                    13 | 15 if bar % 2 == 1 => {
                        let tom = &self.toms[(noise.uniform() * 3.0) as usize];
                        hit(&mut noise, tom, now, 0.8);
                    }
                    _ => {}
                }
            }
        }
        session
    }
}

/// One spot in a groove: the gap of its own drum, within so many samples.
struct Spot {
    name: &'static str,
    microphones: [&'static str; 3],
    /// Asked for: with a kick's spot the snare would be aligned.
    drum: DrumChoice,
    gap: f64,
    tolerance: f64,
}

const SPOTS: [Spot; 3] = [
    Spot {
        name: "snare, oh and side",
        microphones: ["oh_mic", "side_mic", "snare_mic"],
        drum: DrumChoice::Auto,
        gap: 1.0,
        tolerance: 1.5,
    },
    Spot {
        name: "snare, front and wndw",
        microphones: ["front_mic", "wndw_mic", "snare_mic"],
        drum: DrumChoice::Auto,
        gap: -1.2,
        tolerance: 1.0,
    },
    Spot {
        name: "kick, oh and side",
        microphones: ["oh_mic", "side_mic", "kick_mic"],
        drum: DrumChoice::Kick,
        gap: -32.6,
        tolerance: 5.0,
    },
];

/// Ten grooves of sixteen bars for each spot.
#[test]
fn the_spots_own_drum_decides() {
    let Some(folder) = folder() else { return };
    let mut rows = Vec::new();
    for (number, spot) in SPOTS.iter().enumerate() {
        let kit = Kit::read(&folder, spot.microphones);
        for seed in 1..=10 {
            let mut analyser = kit.groove(16, seed).analysed(Inputs::PairAndSpot);
            analyser.choose(spot.drum);
            let m = analyser.measurement();
            let lag = m.gap.expect("a gap");
            let (found, spread) = (lag.attack_s * RATE, lag.spread_s * RATE);
            println!(
                "{:22} seed {seed:2}: hits {:2} of {} drums, gap {found:6.2} (true {}), spread {spread:.2}, {:?}",
                spot.name, m.hits, m.drum_count, spot.gap, lag.polarity
            );
            rows.push(vec![number as f64, seed as f64, found, spread, spot.gap]);
            let case = format!("{} seed {seed}", spot.name);
            assert_near(&case, found, spot.gap, spot.tolerance);
        }
    }
    write_csv("grooves", "spot,seed,gap,spread,true_gap", &rows);
}
