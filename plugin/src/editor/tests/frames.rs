//! What the window shows in each state.

use super::fixtures::{RATE, decks_as_set, notes, report, snapshot};
use super::state::{DECKS, State};
use crate::editor::frame::{Activation, Channels, Control, DeckHistory, Decks, Frame, Knobs};
use crate::exchange::{TransportState, triple_buffer};
use crate::params::PlumblineParams;
use crate::session::MeasurementStore;
use plumbline_dsp::decks::motion::Cue;
use plumbline_dsp::decks::preview::{DeckState, Preview};
use plumbline_dsp::decks::song_position::SongPosition;
use plumbline_dsp::plan::{Anchor, Match, PlanSettings};
use std::sync::Arc;

impl State {
    /// What the window shows in this state.
    pub fn frame(self) -> Frame {
        let mut settings = PlanSettings::default();
        if self == Self::ReachMissing {
            settings.anchor = Anchor::First;
        }
        if self == Self::WholeKit {
            settings.target = Match::Kit;
        }
        let frame = Frame::compose(
            self.activation(),
            self.knobs(),
            report(self),
            &snapshot(self),
            &settings,
        );
        let transport = match self {
            Self::DecksAtRest | Self::HandAtNull => TransportState::Stopped,
            _ => TransportState::Rolling,
        };
        let decks = Decks {
            history: self.history(&frame.knobs),
            transport,
            ..decks_as_set(&frame.knobs)
        };
        Frame {
            decks,
            notes: Arc::new(notes(self)),
            ..frame
        }
    }

    /// Where the deck has been in the last seconds: on its way, as the knobs stand.
    fn history(self, knobs: &Knobs) -> DeckHistory {
        let mut history = DeckHistory::default();
        if !DECKS.contains(&self) || self == Self::DecksAtRest {
            return history;
        }
        let start = SongPosition::default().after(136.0 * 0.5);
        let settings = decks_as_set(knobs).course;
        let cue = (self == Self::PassCued).then_some(Cue::Beats(140.0));
        for step in 0..=140 {
            let bearings = DeckState {
                position: start.after(f64::from(step) / 30.0),
                cue,
                ..DeckState::default()
            };
            let offset_s = match self {
                Self::DragHeld => 0.8e-3 * f64::from(step) / 140.0,
                _ => Preview::new(bearings, &settings).offset_s(0.0).unwrap(),
            };
            history.follow(Some(DeckState {
                offset_s,
                ..bearings
            }));
        }
        history
    }

    fn activation(self) -> Activation {
        Activation {
            sample_rate: (self != Self::NotRunning).then_some(RATE),
            latency: 48,
            reach_s: 0.0,
            channels: match self {
                Self::Mono | Self::MonoWithoutSpot | Self::DecksMono => Channels::Mono,
                _ => Channels::Pair,
            },
            spot: !matches!(self, Self::NoSpot | Self::MonoWithoutSpot),
            dropped_frames: 0,
        }
    }

    fn knobs(self) -> Knobs {
        let (_, reports) = triple_buffer();
        let (loads, _) = triple_buffer();
        let (picks, _) = triple_buffer();
        let (_, pairs) = triple_buffer();
        let store = MeasurementStore::new(reports, pairs, loads, picks, Arc::default());
        let mut knobs = Knobs::of(&PlumblineParams::new(store));
        let quiet = [
            Self::NotRunning,
            Self::Unmeasured,
            Self::Loaded,
            Self::MonoWithoutSpot,
        ];
        if !quiet.contains(&self) {
            knobs.set(Control::Measure, 1.0);
        }
        if self == Self::ReachMissing {
            knobs.set(Control::Anchor, 1.0);
        }
        if self == Self::WholeKit {
            knobs.set(Control::Match, 2.0);
        }
        if DECKS.contains(&self) {
            knobs.set(Control::Mode, 1.0);
            self.set_decks(&mut knobs);
        }
        knobs
    }

    fn set_decks(self, knobs: &mut Knobs) {
        let settings: &[(Control, f32)] = match self {
            Self::CycleRuns => &[
                (Control::Motion, 1.0),
                (Control::Length, 7.0),
                (Control::Wow, 0.04),
                (Control::Flutter, 0.03),
            ],
            Self::PassCued => &[(Control::Motion, 2.0), (Control::Curve, 2.0)],
            Self::NullOnBar => &[
                (Control::Motion, 2.0),
                (Control::NullAt, 37.5),
                (Control::Ease, 1.0),
            ],
            Self::DragHeld => &[(Control::Motion, 3.0), (Control::Drag, 40.0)],
            Self::DecksUnequal => &[
                (Control::Motion, 1.0),
                (Control::Sync, 0.0),
                (Control::Offset, -1.5),
                (Control::Width, -40.0),
                (Control::Blend, 35.0),
                (Control::Flip, 1.0),
            ],
            Self::DecksMono => &[(Control::Offset, 12.0)],
            _ => &[],
        };
        for (control, value) in settings {
            knobs.set(*control, *value);
        }
    }
}
