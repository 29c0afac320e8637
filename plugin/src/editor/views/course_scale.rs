//! The scale of the course: which part of the song is drawn, and how high.

use crate::editor::frame::{Frame, OffsetPoint};
use egui::{Pos2, Rect, lerp, pos2};
use plumbline_dsp::decks::motion::Motion;
use plumbline_dsp::decks::song_position::SongPosition;

/// Part of the drawing that is past.
pub const PAST: f64 = 0.28;
/// Heights of the scale to choose from, to both sides, ms.
const REACHES_MS: [f64; 7] = [0.1, 0.2, 0.5, 1.0, 2.0, 4.0, 8.0];
const FARTHEST_MS: f64 = 16.0;
/// Fewest and most bars that are shown.
const BARS: (f64, f64) = (2.0, 24.0);
/// Bars that are shown where nothing comes back by itself.
const USUAL_BARS: f64 = 8.0;

/// The scale of one drawing of the course.
pub struct Scale {
    pub room: Rect,
    pub now: SongPosition,
    /// Quarter notes at the left and the right edge.
    pub from: f64,
    pub to: f64,
    pub reach_ms: f64,
}

impl Scale {
    /// As much of the song as shows a travel, as high as the deck may go.
    pub fn new(room: Rect, frame: &Frame) -> Self {
        let now = frame.decks.deck_state().position;
        let beats = bars(frame) * now.beats_per_bar;
        Self {
            room,
            now,
            from: now.beats - PAST * beats,
            to: now.beats + (1.0 - PAST) * beats,
            reach_ms: reach_ms(frame),
        }
    }

    pub fn x(&self, beats: f64) -> f32 {
        let part = (beats - self.from) / (self.to - self.from);
        lerp(self.room.x_range(), part as f32)
    }

    /// Quarter notes at this place, the inverse of [`x`](Self::x).
    pub fn beats(&self, x: f32) -> f64 {
        let part = f64::from((x - self.room.min.x) / self.room.width());
        self.from + part * (self.to - self.from)
    }

    pub fn y(&self, offset_s: f64) -> f32 {
        let part = 0.5 - offset_s * 1000.0 / self.reach_ms / 2.0;
        lerp(self.room.y_range(), part.clamp(0.0, 1.0) as f32)
    }

    pub fn at(&self, point: &OffsetPoint) -> Pos2 {
        pos2(self.x(point.beats), self.y(point.offset_s))
    }

    /// The bar that begins at this quarter note, the song's first one being 1.
    pub fn bar(&self, beats: f64) -> i64 {
        (beats / self.now.beats_per_bar).round() as i64 + 1
    }

    /// "bar 35", or "bar 35 beat 2.5".
    pub fn bar_words(&self, beats: f64) -> String {
        let bar = self.now.beats_per_bar;
        // A fiftieth of a beat before a line is on it.
        let bars = (beats + 0.02 - self.now.bar_beats) / bar;
        let line = self.bar(self.now.bar_beats + bars.floor() * bar);
        let quarters = (4.0 * (bars - bars.floor()) * bar).floor();
        match quarters {
            0.0 => format!("bar {line}"),
            quarters => format!("bar {line} beat {}", 1.0 + quarters / 4.0),
        }
    }
}

/// Whole bars that show a travel and what comes after it.
fn bars(frame: &Frame) -> f64 {
    let course = &frame.decks.course;
    let position = frame.decks.deck_state().position;
    let beats = match course.motion {
        Motion::Hand | Motion::Drag => return USUAL_BARS,
        Motion::Cycle | Motion::Pass => course.pace.beats(position.tempo_bpm),
    };
    let bars = 1.5 * beats / position.beats_per_bar;
    bars.clamp(BARS.0, BARS.1).ceil()
}

/// The lowest scale that holds where the deck may go and where it has been.
fn reach_ms(frame: &Frame) -> f64 {
    let course = &frame.decks.course;
    let range_s = match course.motion {
        Motion::Hand => 0.0,
        _ => course.range_s,
    };
    let been_s = frame
        .decks
        .history
        .points()
        .iter()
        .fold(0.0f64, |far, point| far.max(point.offset_s.abs()));
    let farthest_ms = 1000.0 * (course.offset_s.abs() + range_s).max(been_s);
    let reach = REACHES_MS
        .into_iter()
        .find(|reach| *reach >= 1.05 * farthest_ms);
    reach.unwrap_or(FARTHEST_MS).max(0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_of_the_song_in_words() {
        let scale = Scale {
            room: Rect::from_min_max(pos2(10.0, 0.0), pos2(810.0, 100.0)),
            now: SongPosition::default(),
            from: 120.0,
            to: 152.0,
            reach_ms: 4.0,
        };
        for (beats, words) in [
            (136.0, "bar 35"),
            (135.99, "bar 35"),
            (137.0, "bar 35 beat 2"),
            (138.25, "bar 35 beat 3.25"),
        ] {
            assert_eq!(scale.bar_words(beats), words, "{beats}");
            assert!((scale.beats(scale.x(beats)) - beats).abs() < 1e-4);
        }
    }
}
