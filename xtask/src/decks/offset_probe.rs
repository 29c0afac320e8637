//! The moving deck's offset, from the phase of a 20 Hz tone that runs through a second instance.

use std::f64::consts::TAU;

use anyhow::Result;
use plumbline_hosting::Bundle;

use super::automation::Automation;
use super::instance::SweepInstance;

/// Low enough that the farthest offset with its wow, 24 ms either way, stays within half a turn.
const TONE_HZ: f64 = 20.0;
/// Amplitude: a deck at one offset gives this back; one that is cross-faded between two offsets gives less.
const LEVEL: f64 = 0.5;
/// Part of the amplitude that may be missing: 1 µs of offset would take less.
const MISSING: f64 = 1e-4;

/// The second instance. The tone's cosine and sine are the two channels, heard from the moving deck alone.
pub struct OffsetProbe {
    instance: SweepInstance,
    /// One period of both.
    period: [Vec<f32>; 2],
    sample_rate: f64,
    audio: [Vec<f32>; 2],
}

/// A block of offsets.
pub struct Offsets {
    /// Sample of the file that the first one belongs to; negative before its start.
    pub from: i64,
    /// Moving deck minus fixed deck, seconds; none while the deck changes its offset in a cross-fade.
    pub offsets_s: Vec<Option<f64>>,
}

impl OffsetProbe {
    /// Opens the instance with the automation's own controls, but the moving deck alone, upright, both channels alike.
    pub fn open(bundle: &Bundle, automation: &Automation, sample_rate: f64) -> Result<Self> {
        let own = [
            ("engage", 1.0),
            ("ease", 0.0),
            ("blend", 100.0),
            ("flip", 0.0),
            ("width", 100.0),
            ("output", 0.0),
        ];
        let automation = own
            .iter()
            .fold(automation.clone(), |automation, (id, value)| {
                automation.with_constant(id, *value)
            });
        let length = (sample_rate / TONE_HZ).round() as usize;
        let wave = |part: fn(f64) -> f64| -> Vec<f32> {
            let phases = (0..length).map(|n| TAU * n as f64 / length as f64);
            phases.map(|phase| (LEVEL * part(phase)) as f32).collect()
        };
        Ok(Self {
            instance: SweepInstance::open(bundle, automation, sample_rate, 2)?,
            period: [wave(f64::cos), wave(f64::sin)],
            sample_rate,
            audio: [Vec::new(), Vec::new()],
        })
    }

    /// The next `count` samples.
    pub fn play(&mut self, count: usize) -> Result<Offsets> {
        let start = self.index_in_period(self.instance.at());
        for (audio, period) in self.audio.iter_mut().zip(&self.period) {
            audio.clear();
            audio.extend(period.iter().cycle().skip(start).take(count));
        }
        let [cosine, sine] = &mut self.audio;
        let from = self.instance.play(&mut [cosine, sine])?;
        let output = self.audio[0].iter().zip(&self.audio[1]);
        let offsets_s = (from..)
            .zip(output)
            .map(|(at, (cosine, sine))| self.offset_s(at, f64::from(*cosine), f64::from(*sine)))
            .collect();
        Ok(Offsets { from, offsets_s })
    }

    /// Offset of the moving deck, seconds, from what it returned for sample `at`; none inside a cross-fade.
    fn offset_s(&self, at: i64, cosine: f64, sine: f64) -> Option<f64> {
        const LEAST: f64 = LEVEL * (1.0 - MISSING);
        if cosine * cosine + sine * sine < LEAST * LEAST {
            return None;
        }
        let length = self.period[0].len() as f64;
        let late = self.index_in_period(at) as f64 - sine.atan2(cosine) / TAU * length;
        // Within half a turn of the fixed deck.
        let late = late - if late > 0.5 * length { length } else { 0.0 };
        Some(late / self.sample_rate)
    }

    /// Index of a sample of the file in its period of the tone.
    fn index_in_period(&self, sample: i64) -> usize {
        sample.rem_euclid(self.period[0].len() as i64) as usize
    }
}
