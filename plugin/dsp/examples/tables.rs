//! Tables of the new measurement on grooves of real strokes.
#![allow(dead_code, unused_imports)]

#[path = "../tests/measured/measure.rs"]
mod measure;
#[path = "../tests/measured/real_grooves.rs"]
mod real_grooves;
#[path = "../tests/measured/recordings.rs"]
mod recordings;
#[path = "../tests/measured/scene.rs"]
mod scene;
#[path = "../tests/measured/support.rs"]
mod support;

use plumbline_dsp::measure_new::analyser::{Analyser, AnalyserSetup, Inputs};
use real_grooves::{GrooveSettings, Pair, Style, strokes};

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let number = |n: usize, or: f64| args.get(n).and_then(|s| s.parse().ok()).unwrap_or(or);
    let seeds = number(1, 2.0) as u64;
    let gains: Vec<f64> = args.get(2).map_or("1,2,4".into(), String::clone).split(',').map(|s| s.parse().unwrap()).collect();
    let first = number(3, 1000.0) as u64;
    let only = args.get(4).cloned().unwrap_or_default();
    let loud = args.get(5).is_some();
    let strokes = strokes().unwrap();
    for pair in Pair::ALL {
        for style in Style::ALL {
            for &cymbals in &gains {
                if style == Style::Plain && cymbals != gains[0] { continue; }
                for (name, inputs) in [("none", 0), ("kick", 1), ("snare", 2)] {
                    if !format!("{pair:?} {style:?} {name}").contains(&only) { continue; }
                    let mut right = 0;
                    let mut text = String::new();
                    let start = std::time::Instant::now();
                    for seed in first..first + seeds {
                        let settings = GrooveSettings { style, pair, cymbals, seed, ..Default::default() };
                        let g = strokes.groove(&settings);
                        let spot: &[f32] = match inputs { 0 => &[], 1 => &g.kick, _ => &g.snare };
                        let mut a = Analyser::new(AnalyserSetup { sample_rate: 44100.0, inputs: if inputs == 0 { Inputs::Pair } else { Inputs::PairAndSpot } });
                        a.push(&g.first, &g.second, spot);
                        let r = a.snare();
                        if loud { a.describe(); }
                        if let Some((gap, lead, inverted, n)) = r {
                            let e = gap - g.truth.gap;
                            right += usize::from(e.abs() <= g.truth.tolerance);
                            text += &format!(" {e:+.2}({n},{:.1}{})", lead, if inverted { "!" } else { "" });
                        } else { text += " none"; }
                    }
                    println!("{pair:?} {style:?} x{cymbals} {name:5} {right}/{seeds} {:.2}s {text}", start.elapsed().as_secs_f64() / seeds as f64);
                }
            }
        }
    }
}
