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
#[path = "../tests/measured/strokes.rs"]
mod strokes;
#[path = "../tests/measured/support.rs"]
mod support;

use plumbline_dsp::measure_new::analyser::{Analyser, AnalyserSetup, Inputs};
use plumbline_dsp::measure_new::choice::DrumChoice;
use real_grooves::{GrooveSettings, Pair, Style};

fn describe(a: &Analyser) {
    let m = a.measurement();
    println!(
        "  chosen {:?} why {:?} refused {:?}",
        m.chosen, m.why, m.refused
    );
    for d in m.drums() {
        println!(
            "  #{} {:?} p {:.2?} hits {} share {:.3} gap {:.2?} spot {:.1?} {:.1?} conf {:.2} spread {:.2} levels {:.0?}",
            d.number,
            d.kind,
            d.probabilities,
            d.hits,
            d.share,
            d.gap.map(|g| [g.attack_s * a.rate(), g.body_s * a.rate()]),
            d.spot_to_first.map(|g| g.attack_s * a.rate()),
            d.spot_to_second.map(|g| g.attack_s * a.rate()),
            d.gap.map_or(0.0, |g| g.confidence),
            d.gap.map_or(0.0, |g| g.spread_s * a.rate()),
            d.signature.levels_db
        );
    }
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if args.get(1).is_some_and(|a| a == "sets") {
        return sets(args.get(2).is_some());
    }
    let number = |n: usize, or: f64| args.get(n).and_then(|s| s.parse().ok()).unwrap_or(or);
    let seeds = number(1, 2.0) as u64;
    let gains: Vec<f64> = args
        .get(2)
        .map_or("1,2,4".into(), String::clone)
        .split(',')
        .map(|s| s.parse().unwrap())
        .collect();
    let first = number(3, 1000.0) as u64;
    let only = args.get(4).cloned().unwrap_or_default();
    let loud = args.get(5).is_some_and(|a| a == "loud");
    let csv = args.get(5).is_some_and(|a| a == "csv");
    let strokes = real_grooves::strokes().unwrap();
    for pair in Pair::ALL {
        for style in Style::ALL {
            for &cymbals in &gains {
                if style == Style::Plain && cymbals != gains[0] {
                    continue;
                }
                for (name, inputs) in [("none", 0), ("kick", 1), ("snare", 2), ("kick+Kick", 3)] {
                    if !format!("{pair:?} {style:?} {name}").contains(&only)
                        || (inputs == 3 && only.is_empty())
                    {
                        continue;
                    }
                    let mut right = 0;
                    let mut text = String::new();
                    let mut spent = 0.0;
                    for seed in first..first + seeds {
                        let settings = GrooveSettings {
                            style,
                            pair,
                            cymbals,
                            seed,
                            bars: number(6, 8.0) as usize,
                            second: if args.get(7).is_some() {
                                real_grooves::Cable::Reversed
                            } else {
                                real_grooves::Cable::AsRecorded
                            },
                            ..Default::default()
                        };
                        let g = strokes.groove(&settings);
                        let spot: &[f32] = match inputs {
                            0 => &[],
                            1 | 3 => &g.kick,
                            _ => &g.snare,
                        };
                        let mut a = Analyser::new(AnalyserSetup {
                            sample_rate: 44100.0,
                            inputs: if inputs == 0 {
                                Inputs::Pair
                            } else {
                                Inputs::PairAndSpot
                            },
                        });
                        let (mut truth, mut tol) = (g.truth.gap, g.truth.tolerance);
                        if inputs == 3 {
                            a.choose(DrumChoice::Kick);
                            truth = -32.6;
                            tol = 5.0;
                        }
                        let start = std::time::Instant::now();
                        a.push(&g.first, &g.second, spot);
                        spent += start.elapsed().as_secs_f64();
                        if loud {
                            describe(&a);
                        }
                        let m = a.measurement();
                        if let Some(lag) = m.gap {
                            let e = lag.attack_s * a.rate() - truth;
                            right += usize::from(e.abs() <= tol);
                            let far = if e.abs() > tol { "*" } else { "" };
                            text += &format!(
                                " {far}{e:+.2}({},{:.2}{})",
                                m.hits,
                                lag.confidence,
                                if lag.polarity
                                    == plumbline_dsp::measure_new::measurement::Polarity::Same
                                {
                                    ""
                                } else {
                                    "!"
                                }
                            );
                            if csv {
                                println!(
                                    "CSV,{pair:?},{style:?},{cymbals},{name},{seed},{e:.3},{tol},{:.3},{:.3},{}",
                                    lag.spread_s * a.rate(),
                                    lag.confidence,
                                    a.evidence().map_or(String::new(), |v| [
                                        v.lead,
                                        v.coherent,
                                        v.strokes_alike,
                                        v.margin,
                                        v.strokes,
                                        v.jackknife_us,
                                        v.bootstrap_us,
                                        v.variants_us,
                                        v.own_us,
                                        v.own_part,
                                        v.clear_polarity,
                                        v.push,
                                        v.kind
                                    ]
                                    .map(|x| format!("{x:.4}"))
                                    .join(","))
                                );
                            }
                        } else {
                            text += " none";
                        }
                    }
                    println!(
                        "{pair:?} {style:?} x{cymbals} {name:5} {right}/{seeds} {:.2}s {text}",
                        spent / seeds as f64
                    );
                }
            }
        }
    }
}

fn sets(loud: bool) {
    let folder = recordings::folder().unwrap();
    for set in strokes::sets(&folder) {
        for inputs in [Inputs::PairAndSpot, Inputs::Pair] {
            let session = recordings::session(&set.strokes);
            let measure = |session: &scene::Session| {
                let mut a = Analyser::new(AnalyserSetup {
                    sample_rate: 44100.0,
                    inputs,
                });
                let [f, s, spot] = &session.channels;
                a.push(f, s, if inputs == Inputs::Pair { &[] } else { spot });
                a
            };
            let a = measure(&session);
            let m = a.measurement();
            let lag = m.gap.unwrap_or_default();
            let samples = |l: f64| l * a.rate();
            let err = samples(lag.attack_s) - set.gap;
            let mut worst = 0.0f64;
            if loud {
                for (channel, later) in [(1, 0.37), (1, 2.5), (0, 0.81)] {
                    let moved = measure(&session.clone().delayed(channel, later));
                    let after = samples(moved.measurement().gap.unwrap_or_default().attack_s);
                    let expected = if channel == 1 { later } else { -later };
                    worst = worst.max((after - samples(lag.attack_s) - expected).abs());
                }
            }
            println!(
                "{:17} {inputs:?} hits {:2} gap {:7.2} err {err:+6.2} tol {:?}{} spread {:.2} conf {:.2} {:?} body {:.1} spot {:.1?} {:.1?} ({:?}) why {:?} drums {} frac {worst:.3} ev {:.2?}",
                set.name,
                m.hits,
                samples(lag.attack_s),
                set.tolerance,
                if err.abs() > set.tolerance.unwrap_or(99.0) {
                    " *"
                } else {
                    ""
                },
                samples(lag.spread_s),
                lag.confidence,
                lag.polarity,
                samples(lag.body_s),
                m.spot_to_first.map(|l| samples(l.attack_s)),
                m.spot_to_second.map(|l| samples(l.attack_s)),
                set.spot_to,
                m.why,
                m.drum_count,
                a.evidence()
            );
        }
    }
}
