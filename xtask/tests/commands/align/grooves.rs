//! Grooves put together from real strokes of a whole kit: only the spot's own drum decides.

use std::collections::HashMap;
use std::path::Path;

use xtask::alignment::AskedDrum;

use super::recordings::{folder, names, read};
use super::session::{RATE, Session, gap, load_plugin};

/// Seconds of a sixteenth note at 120 beats a minute.
const SIXTEENTH_S: f64 = 0.125;
const SEEDS: u64 = 10;
/// Half a minute: the kick is struck 32 times.
const BARS: usize = 16;
/// Standard deviation of a stroke's time, seconds.
const HUMAN_S: f64 = 0.003;

/// A stroke: sixteenth of the bar, beginning of its file names, level.
type Stroke = (usize, &'static str, f32);

/// Microphones of a session and what its drum's gap must be, samples.
struct Case {
    name: &'static str,
    microphones: [&'static str; 3],
    drum: AskedDrum,
    gap: f64,
    tolerance: f64,
}

const CASES: [Case; 3] = [
    Case {
        name: "snare, oh and side",
        microphones: ["oh_mic", "side_mic", "snare_mic"],
        drum: AskedDrum::Auto,
        gap: 1.0,
        tolerance: 1.5,
    },
    Case {
        name: "snare, front and window",
        microphones: ["front_mic", "wndw_mic", "snare_mic"],
        drum: AskedDrum::Auto,
        gap: -1.2,
        tolerance: 1.0,
    },
    // A soft beater in the overheads, and a hat on top of every one.
    Case {
        name: "kick, oh and side",
        microphones: ["oh_mic", "side_mic", "kick_mic"],
        drum: AskedDrum::Kick,
        gap: -32.6,
        tolerance: 5.0,
    },
];

/// Kick on 1 and 3, snare on 2 and 4 with a ghost note, sixteenth hats, two toms every second bar.
fn bar_strokes(bar: usize) -> Vec<Stroke> {
    let mut strokes: Vec<Stroke> = vec![
        (0, "ks_", 1.0),
        (8, "ks_", 1.0),
        (4, "sc_", 1.0),
        (12, "sc_", 1.0),
    ];
    strokes.push((7, "sc_vl3", 0.4));
    strokes.extend((0..16).map(|sixteenth| (sixteenth, "ht_", 0.5)));
    if bar % 2 == 1 {
        strokes.extend([(14, "th_", 0.8), (15, "tl_vl5", 0.8)]);
    }
    strokes
}

/// All files of the microphones, each read once.
struct Kit<'a> {
    folder: &'a Path,
    files: HashMap<String, Vec<f32>>,
}

impl Kit<'_> {
    fn stroke(&mut self, microphone: &str, name: &str) -> &Vec<f32> {
        let path = self.folder.join("kit").join(microphone).join(name);
        let key = format!("{microphone}/{name}");
        self.files
            .entry(key)
            .or_insert_with(|| read(&path).swap_remove(0))
    }

    /// The same strokes at the same times in every microphone.
    fn groove(&mut self, case: &Case, seed: u64) -> Session {
        let mut random = fastrand::Rng::with_seed(seed);
        let frames = ((16 * BARS) as f64 * SIXTEENTH_S + 3.0) * f64::from(RATE);
        let mut session = Session::silent(frames as usize, seed);
        for bar in 0..BARS {
            for (sixteenth, begin, level) in bar_strokes(bar) {
                let names = names(&self.folder.join("kit").join(case.microphones[0]), begin);
                let name = names[random.usize(..names.len())].clone();
                let at_s = 0.5 + (16 * bar + sixteenth) as f64 * SIXTEENTH_S + human_s(&mut random);
                let level = level * (0.9 + 0.2 * random.f32());
                let strokes = case.microphones.map(|mic| self.stroke(mic, &name).clone());
                session.add((at_s * f64::from(RATE)) as usize, &strokes, level);
            }
        }
        session
    }
}

/// How late a drummer strikes, seconds: nearly normal, as the sum of twelve uniform numbers.
fn human_s(random: &mut fastrand::Rng) -> f64 {
    HUMAN_S * ((0..12).map(|_| random.f64()).sum::<f64>() - 6.0)
}

#[test]
fn the_drum_of_the_spot_is_measured() {
    let Some(folder) = folder() else {
        return;
    };
    let bundle = load_plugin();
    let mut wrong = Vec::new();
    for case in &CASES {
        let mut kit = Kit {
            folder: &folder,
            files: HashMap::new(),
        };
        for seed in 1..=SEEDS {
            let measurement = kit.groove(case, seed).measured_on(&bundle, case.drum);
            let lag = measurement.gap.expect("a gap");
            let line = format!(
                "{}, seed {seed}: gap {:+.2} (should be {:+.1} +- {}), spread {:.2}, {} hits, confidence {:.2}",
                case.name,
                gap(&measurement),
                case.gap,
                case.tolerance,
                lag.spread_s * f64::from(RATE),
                measurement.hits,
                lag.confidence
            );
            println!("{line}");
            if (gap(&measurement) - case.gap).abs() > case.tolerance {
                wrong.push(line);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
