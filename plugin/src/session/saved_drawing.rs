//! What is drawn of the hits, as the session's JSON keeps it: whole numbers, fine enough for a drawing.

use crate::exchange::PairSnapshot;
use plumbline_dsp::measure::lag_curve::{LagCurve, POINTS};
use plumbline_dsp::meters::pair_spectrum::{PairSpectrum, SharedPower};
use serde::Deserialize;
use serde_json::{Map, Value, json};

/// Where it stands among what is saved.
const KEY: &str = "drawing";
/// Levels are written in parts of a decibel below the loudest, the rest in parts of one.
const PARTS_OF_A_DB: f32 = 10.0;
const PARTS_OF_ONE: f32 = 1_000.0;
/// So far below the loudest a line is silent, dB.
const SILENT_DB: f32 = 150.0;
/// Numbers of one line.
const LINE: usize = 9;
/// Narrowest and widest bin that is believed, Hz.
const BINS_HZ: std::ops::RangeInclusive<f32> = 1.0..=100.0;

/// Writes it over what was there; nothing where nothing was heard.
pub fn write_drawing(pair: &PairSnapshot, saved: &mut Map<String, Value>) {
    let spectrum = &pair.spectrum;
    if spectrum.hits() == 0 {
        return;
    }
    let powers = spectrum.lines().flat_map(|line| line.powers);
    let loudest = powers.fold(f32::MIN_POSITIVE, f32::max);
    let lines: Vec<i32> = spectrum
        .lines()
        .flat_map(|line| numbers(&line, loudest))
        .collect();
    let curve = |values: &[f32; POINTS]| values.map(of_one).to_vec();
    let drawing = json!({
        "bin_hz": spectrum.bin_hz(),
        "hits": spectrum.hits(),
        "lines": lines,
        "fronts": curve(&pair.lag_curve.fronts),
        "body": curve(&pair.lag_curve.body),
    });
    saved.insert(KEY.into(), drawing);
}

/// Reads it for a measurement; empty where it is missing or damaged.
pub fn read_drawing(saved: &Map<String, Value>, epoch: u32) -> PairSnapshot {
    let read = saved.get(KEY).and_then(read_parts);
    PairSnapshot {
        epoch,
        ..read.unwrap_or_default()
    }
}

fn read_parts(saved: &Value) -> Option<PairSnapshot> {
    let bin_hz = f32::deserialize(saved.get("bin_hz")?).ok()?;
    let hits = u32::deserialize(saved.get("hits")?).ok()?;
    let lines = Vec::<i32>::deserialize(saved.get("lines")?).ok()?;
    let curve = |name: &str| -> Option<[f32; POINTS]> {
        let values = Vec::<i32>::deserialize(saved.get(name)?).ok()?;
        let values = <[i32; POINTS]>::try_from(values).ok()?;
        Some(values.map(|value| value as f32 / PARTS_OF_ONE))
    };
    let lag_curve = LagCurve {
        fronts: curve("fronts")?,
        body: curve("body")?,
    };
    let lines = lines.chunks_exact(LINE).map(line);
    BINS_HZ.contains(&bin_hz).then(|| PairSnapshot {
        lag_curve,
        spectrum: PairSpectrum::from_lines(bin_hz, hits, lines),
        ..PairSnapshot::default()
    })
}

fn of_one(value: f32) -> i32 {
    (value * PARTS_OF_ONE).round() as i32
}

fn numbers(line: &SharedPower, loudest: f32) -> [i32; LINE] {
    let level = |power: f32| {
        let below_db = -10.0 * (power / loudest).max(f32::MIN_POSITIVE).log10();
        (below_db.min(SILENT_DB) * PARTS_OF_A_DB).round() as i32
    };
    let [a, b, c] = line.powers.map(level);
    let [[d, e], [f, g], [h, i]] = line.shared.map(|product| product.map(of_one));
    [a, b, c, d, e, f, g, h, i]
}

fn line(numbers: &[i32]) -> SharedPower {
    let power = |place: usize| {
        let below_db = numbers[place].max(0) as f32 / PARTS_OF_A_DB;
        if below_db >= SILENT_DB {
            0.0
        } else {
            10f32.powf(-0.1 * below_db)
        }
    };
    let part = |place: usize| (numbers[place] as f32 / PARTS_OF_ONE).clamp(-1.0, 1.0);
    SharedPower {
        powers: [power(0), power(1), power(2)],
        shared: [[part(3), part(4)], [part(5), part(6)], [part(7), part(8)]],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::meters::pair_spectrum::{PairShift, PairSpectrumMeter};

    #[test]
    fn what_is_drawn_is_drawn_again() {
        let sound = |late: usize| -> Vec<f32> {
            let at = |n: usize| {
                if n < 500 + late {
                    0.0
                } else {
                    (n - 500 - late) as f32
                }
            };
            (0..2976)
                .map(|n| (-at(n) / 300.0).exp() * (0.13 * at(n)).sin())
                .collect()
        };
        let channels = [sound(0), sound(7), sound(3)];
        let [first, second, spot] = channels.each_ref().map(|channel| &channel[..]);
        let pair = PairSnapshot {
            spectrum: PairSpectrumMeter::new(48_000.0, 2976)
                .measure(std::iter::once([first, second, spot])),
            lag_curve: LagCurve {
                fronts: std::array::from_fn(|point| (0.1 * point as f32).sin()),
                body: [0.25; POINTS],
            },
            ..PairSnapshot::default()
        };
        let mut saved = Map::new();
        write_drawing(&pair, &mut saved);
        let read = read_drawing(&saved, 3);
        assert_eq!(read.epoch, 3);
        assert_eq!(read.spectrum.hits(), 1);
        let losses = [&pair, &read].map(|pair| pair.spectrum.losses_db(PairShift::default()));
        for (band, (before, after)) in losses[0].iter().zip(&losses[1]).enumerate() {
            let apart = before.unwrap() - after.unwrap();
            assert!(apart.abs() < 0.1, "band {band}: {before:?} {after:?}");
        }
        let curves = pair.lag_curve.fronts.iter().zip(read.lag_curve.fronts);
        assert!(curves.clone().all(|(a, b)| (a - b).abs() < 1e-3));
        let size = Value::Object(saved).to_string().len();
        assert!(size < 64_000, "{size} bytes");
    }

    #[test]
    fn damage_is_no_drawing() {
        let Value::Object(saved) =
            json!({"drawing": {"bin_hz": 0.0, "hits": 4, "lines": [1], "fronts": [], "body": 3}})
        else {
            unreachable!()
        };
        assert_eq!(read_drawing(&saved, 0).spectrum.hits(), 0);
    }
}
