//! Where the moving deck has been while a window was open.

use plumbline_dsp::decks::preview::Bearings;

/// Points that are kept.
pub const LENGTH: usize = 600;
/// From one point to the next, seconds of the song.
const STEP_S: f64 = 1.0 / 30.0;
/// A longer rest than this, or a step back, is a jump of the song, seconds.
const JUMP_S: f64 = 1.0;

/// The last seconds of the deck, oldest first, and where it is now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeckHistory {
    points: [OffsetPoint; LENGTH],
    count: usize,
    now: Option<Bearings>,
}

/// The moving deck at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct OffsetPoint {
    /// Quarter notes since the song's start.
    pub beats: f64,
    /// Of the song.
    pub seconds: f64,
    /// Moving deck minus fixed deck.
    pub offset_s: f64,
}

impl Default for DeckHistory {
    fn default() -> Self {
        Self {
            points: [OffsetPoint::default(); LENGTH],
            count: 0,
            now: None,
        }
    }
}

impl DeckHistory {
    /// The deck has gone on, or away.
    pub fn follow(&mut self, deck: Option<Bearings>) {
        self.now = deck;
        let Some(point) = deck.map(OffsetPoint::of) else {
            self.count = 0;
            return;
        };
        let step_s = self
            .points()
            .last()
            .map(|last| point.seconds - last.seconds);
        match step_s {
            Some(step_s) if (0.0..STEP_S).contains(&step_s) => return,
            Some(step_s) if !(0.0..JUMP_S).contains(&step_s) => self.count = 0,
            _ => {}
        }
        if self.count == LENGTH {
            self.points.rotate_left(1);
            self.count -= 1;
        }
        self.points[self.count] = point;
        self.count += 1;
    }

    /// Where the deck is; `None` while there are no decks.
    pub fn now(&self) -> Option<Bearings> {
        self.now
    }

    pub fn points(&self) -> &[OffsetPoint] {
        &self.points[..self.count]
    }
}

impl OffsetPoint {
    fn of(deck: Bearings) -> Self {
        Self {
            beats: deck.position.beats,
            seconds: deck.position.seconds,
            offset_s: deck.offset_s,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::decks::song_clock::SongPosition;

    fn at(seconds: f64) -> Option<Bearings> {
        Some(Bearings {
            position: SongPosition::default().after(seconds),
            offset_s: seconds,
            ..Bearings::default()
        })
    }

    #[test]
    fn it_keeps_the_last_seconds_and_forgets_what_was_before_a_jump() {
        let mut history = DeckHistory::default();
        (0..3000).for_each(|block| history.follow(at(f64::from(block) * 0.01)));
        let points = history.points();
        assert_eq!(points.len(), LENGTH);
        assert!(points.last().unwrap().seconds > 29.9);
        assert!(points.windows(2).all(|two| two[1].seconds > two[0].seconds));
        history.follow(at(4.0));
        assert_eq!(history.points().len(), 1);
        history.follow(None);
        assert_eq!((history.now(), history.points().len()), (None, 0));
    }
}
