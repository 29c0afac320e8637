//! Where the moving deck is: a pilot tone of 20 Hz runs through a second instance, and its phase is the offset.

use std::f64::consts::TAU;

use anyhow::Result;
use plumbline_hosting::Bundle;

use super::deck::Deck;
use super::score::Score;

/// Low enough that the farthest offset with its wow, 24 ms either way, stays within half a turn.
const PILOT_HZ: f64 = 20.0;
/// Amplitude: a deck at one place gives this back; one that is cross-faded between two places gives less.
const LEVEL: f64 = 0.5;
/// Part of the amplitude that may be missing: 1 µs of offset would take less.
const MISSING: f64 = 1e-4;

/// The second instance. Its sine and cosine are the two channels, heard from the moving deck alone.
pub struct Pilot {
    deck: Deck,
    /// Samples of one turn.
    turn: usize,
    sample_rate: f64,
    audio: [Vec<f32>; 2],
}

/// A block of offsets.
pub struct Offsets {
    /// Sample of the file that the first one belongs to; negative before its start.
    pub from: i64,
    /// Moving deck minus fixed deck, seconds; none while the deck changes its place in a cross-fade.
    pub offsets_s: Vec<Option<f64>>,
}

impl Pilot {
    /// Opens the instance with the score's own controls, but the moving deck alone, upright, both channels alike.
    pub fn open(bundle: &Bundle, score: &Score, sample_rate: f64) -> Result<Self> {
        let own = [
            ("engage", 1.0),
            ("blend", 100.0),
            ("flip", 0.0),
            ("width", 100.0),
            ("output", 0.0),
        ];
        let score = own
            .iter()
            .fold(score.clone(), |score, (id, value)| score.fixed(id, *value));
        Ok(Self {
            deck: Deck::open(bundle, score, sample_rate, 2)?,
            turn: (sample_rate / PILOT_HZ).round() as usize,
            sample_rate,
            audio: [Vec::new(), Vec::new()],
        })
    }

    /// The next `count` samples.
    pub fn play(&mut self, count: usize) -> Result<Offsets> {
        let at = self.deck.at();
        let [cosine, sine] = &mut self.audio;
        let phase = |n: usize, turn| TAU * phase(at + n as i64, turn);
        cosine.clear();
        cosine.extend((0..count).map(|n| (LEVEL * phase(n, self.turn).cos()) as f32));
        sine.clear();
        sine.extend((0..count).map(|n| (LEVEL * phase(n, self.turn).sin()) as f32));
        let from = self.deck.play(&mut [cosine, sine])?;
        let offsets_s = (0..count).map(|n| self.offset_s(from, n)).collect();
        Ok(Offsets { from, offsets_s })
    }

    fn offset_s(&self, from: i64, n: usize) -> Option<f64> {
        let (cosine, sine) = (f64::from(self.audio[0][n]), f64::from(self.audio[1][n]));
        if cosine.hypot(sine) < LEVEL * (1.0 - MISSING) {
            return None;
        }
        let turns = phase(from + n as i64, self.turn) - sine.atan2(cosine) / TAU;
        Some((turns - turns.round()) * self.turn as f64 / self.sample_rate)
    }
}

/// Turns of the pilot at a sample, 0 to 1.
fn phase(sample: i64, turn: usize) -> f64 {
    sample.rem_euclid(turn as i64) as f64 / turn as f64
}
