//! What a page shows of the two decks: how they are set, where the moving one has been and where it is going.

use super::deck_history::DeckHistory;
use crate::exchange::TransportState;
use crate::params::PlumblineParams;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::Motion;
use plumbline_dsp::decks::preview::{DeckState, Preview};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::Transport;

/// Time over which the speed is read, seconds.
const SPEED_OVER_S: f64 = 0.2;

/// The decks at one moment.
#[derive(Clone, Copy, Debug, Default)]
pub struct Decks {
    pub course: CourseSettings,
    pub mix: MixSettings,
    pub history: DeckHistory,
    pub transport: TransportState,
}

impl Decks {
    /// As the parameters are set now.
    pub fn read(
        params: &PlumblineParams,
        history: &DeckHistory,
        transport: TransportState,
    ) -> Self {
        let position = match history.now() {
            Some(deck) => Transport::Running(deck.position),
            None => Transport::Stopped,
        };
        Self {
            course: params.sweep.course(position),
            mix: params.sweep.mix(position),
            history: *history,
            transport,
        }
    }

    /// Where the moving deck is; `None` until the host runs the decks.
    pub fn now(&self) -> Option<DeckState> {
        self.history.now()
    }

    /// The course from here on.
    pub fn preview(&self) -> Preview {
        Preview::new(self.deck_state(), &self.course)
    }

    /// Where the moving deck is, or where it would be at the song's start.
    pub fn deck_state(&self) -> DeckState {
        self.now().unwrap_or_default()
    }

    /// Where a pass is told to have its null point, quarter notes.
    pub fn null_beats(&self) -> Option<f64> {
        let position = self.deck_state().position;
        let bar = self.course.null_at?;
        (self.course.motion == Motion::Pass).then(|| position.beats_at_bar(bar))
    }

    /// Moving deck's speed against the fixed one's, a part of one: a deck that gets late is slow.
    pub fn speed_difference(&self) -> f64 {
        let now = self.deck_state();
        let since = now.position.seconds - SPEED_OVER_S;
        let points = self.history.points().iter().rev();
        let before = points.take_while(|point| point.seconds >= since).last();
        let slope = before.and_then(|before| {
            let passed_s = now.position.seconds - before.seconds;
            (passed_s > 0.0).then(|| (before.offset_s - now.offset_s) / passed_s)
        });
        slope.unwrap_or(0.0)
    }
}
