//! Everything the sheet can have to say, one state each.

use crate::editor::frame::{Activation, Channels, Control, DeckHistory, Decks, Frame, Knobs};
use crate::exchange::{PairSnapshot, Report, TransportState, triple_buffer};
use crate::params::PlumblineParams;
use crate::session::MeasurementStore;
use plumbline_dsp::decks::drag::Hands;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Cue, Curve, Motion, Pace};
use plumbline_dsp::decks::preview::{Bearings, Outlook};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_clock::SongPosition;
use plumbline_dsp::decks::wobble::WobbleAmounts;
use plumbline_dsp::measure::lag_curve::{LagCurve, POINTS};
use plumbline_dsp::measurement::{
    Hit, HitOutcome, Lag, Measurement, Polarity, Refused, Voice, VoiceName,
};
use plumbline_dsp::meters::pair_spectrum::PairSpectrumMeter;
use plumbline_dsp::plan::{Anchor, PlanSettings};
use std::sync::Arc;

const RATE: f64 = 48_000.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Before the first activation.
    NotRunning,
    Unmeasured,
    ListeningToNothing,
    SpotSilent,
    AllRefused,
    OneHit,
    Measured,
    FirstIsLater,
    Together,
    Undecided,
    Inverted,
    ReachMissing,
    NoSpot,
    /// From a session: the curve is not saved.
    Loaded,
    Mono,
    MonoWithoutSpot,
    /// The decks, before the host has run them.
    DecksAtRest,
    HandAtNull,
    CycleRuns,
    PassCued,
    DragHeld,
    /// Channels part, decks unequal, one turned over.
    DecksUnequal,
    DecksMono,
}

/// The decks' states: the sheet of Sweep.
pub const DECKS: [State; 7] = [
    State::DecksAtRest,
    State::HandAtNull,
    State::CycleRuns,
    State::PassCued,
    State::DragHeld,
    State::DecksUnequal,
    State::DecksMono,
];

impl State {
    pub const ALL: [Self; 16] = [
        Self::NotRunning,
        Self::Unmeasured,
        Self::ListeningToNothing,
        Self::SpotSilent,
        Self::AllRefused,
        Self::OneHit,
        Self::Measured,
        Self::FirstIsLater,
        Self::Together,
        Self::Undecided,
        Self::Inverted,
        Self::ReachMissing,
        Self::NoSpot,
        Self::Loaded,
        Self::Mono,
        Self::MonoWithoutSpot,
    ];

    pub fn frame(self) -> Frame {
        let mut settings = PlanSettings::default();
        if self == Self::ReachMissing {
            settings.anchor = Anchor::First;
        }
        let frame = Frame::compose(
            self.activation(),
            self.knobs(),
            self.report(),
            &self.snapshot(),
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
        Frame { decks, ..frame }
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
            let bearings = Bearings {
                position: start.after(f64::from(step) / 30.0),
                cue,
                ..Bearings::default()
            };
            let offset_s = match self {
                Self::DragHeld => 0.8e-3 * f64::from(step) / 140.0,
                _ => Outlook::new(bearings, &settings).offset_s(0.0).unwrap(),
            };
            history.follow(Some(Bearings {
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
        }
    }

    fn knobs(self) -> Knobs {
        let (_, reports) = triple_buffer();
        let (loads, _) = triple_buffer();
        let store = MeasurementStore::new(reports, loads, Arc::default());
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

    /// Attack gap, seconds; `None` before the first hit.
    fn gap_s(self) -> Option<f64> {
        match self {
            Self::NotRunning
            | Self::Unmeasured
            | Self::ListeningToNothing
            | Self::SpotSilent
            | Self::AllRefused
            | Self::MonoWithoutSpot => None,
            Self::FirstIsLater => Some(-292.0e-6),
            Self::Together => Some(9.0e-6),
            Self::ReachMissing => Some(1.83e-3),
            Self::Mono => Some(2.41e-3),
            _ => Some(99.0e-6),
        }
    }

    fn report(self) -> Report {
        let mut report = Report {
            measurement: self.measurement(),
            ..Report::default()
        };
        if let Some(gap_s) = self.gap_s() {
            let hits = report.measurement.hits as usize;
            for (number, entry) in report.log.iter_mut().take(hits).enumerate() {
                *entry = Some(counted(number, 0, gap_s));
            }
            for (number, entry) in report.log.iter_mut().skip(hits).take(8).enumerate() {
                let voice = 1 + (number % 2) as u8;
                *entry = Some(counted(number, voice, -3.0 * gap_s * f64::from(voice)));
            }
            report.log[hits + 7] = Some(Hit {
                at_s: 30.0,
                outcome: HitOutcome::Crowded,
            });
        }
        report
    }

    fn measurement(self) -> Measurement {
        let refused = Refused {
            clipped: if self == Self::AllRefused { 3 } else { 0 },
            crowded: if self.gap_s().is_some() { 2 } else { 0 },
            buried: 0,
        };
        let Some(gap_s) = self.gap_s() else {
            return Measurement {
                refused,
                ..Measurement::default()
            };
        };
        let hits = if self == Self::OneHit { 1 } else { 12 };
        let lag = |attack_s: f64| Lag {
            attack_s,
            body_s: attack_s
                + if self == Self::FirstIsLater {
                    90e-6
                } else {
                    29e-6
                },
            spread_s: if self == Self::OneHit { 10e-6 } else { 3e-6 },
            polarity: match self {
                Self::Undecided => Polarity::Undecided,
                Self::Inverted => Polarity::Inverted,
                _ => Polarity::Same,
            },
            confidence: match self {
                Self::Undecided => 0.41,
                Self::OneHit => 0.46,
                _ => 0.9,
            },
        };
        let mono = self == Self::Mono;
        let mut measurement = Measurement {
            hits,
            refused,
            gap: (!mono).then(|| lag(gap_s)),
            spot_to_first: match self {
                Self::NoSpot => None,
                Self::Mono => Some(lag(gap_s)),
                _ => Some(lag(2.972e-3)),
            },
            spot_to_second: (!mono && self != Self::NoSpot).then(|| lag(2.972e-3 + gap_s)),
            voice_count: 3,
            ..Measurement::default()
        };
        for (entry, (name, hits, part)) in measurement.voices.iter_mut().zip([
            (VoiceName::Spot, hits, 1.0),
            (VoiceName::Low, 4, -3.0),
            (VoiceName::High, 4, -6.0),
        ]) {
            *entry = Voice {
                name,
                hits,
                gap_s: part * gap_s,
                spread_s: 8e-6,
            };
        }
        measurement
    }

    fn snapshot(self) -> PairSnapshot {
        let audible = match self {
            Self::NotRunning | Self::ListeningToNothing | Self::Loaded => [false; 3],
            Self::SpotSilent => [true, true, false],
            _ => [true; 3],
        };
        let blank = PairSnapshot {
            audible,
            ..PairSnapshot::default()
        };
        match (self, self.gap_s()) {
            (Self::Loaded, _) | (_, None) => blank,
            (_, Some(gap_s)) => PairSnapshot {
                lag_curve: curve(gap_s),
                spectrum: PairSpectrumMeter::new(RATE, 2976).measure(drums(gap_s).pairs()),
                ..blank
            },
        }
    }
}

/// The decks as the knobs of a frame stand, in a song of 120 in common time.
pub fn decks_as_set(knobs: &Knobs) -> Decks {
    let part = |control| f64::from(knobs.get(control).value) / 100.0;
    let ms = |control| f64::from(knobs.get(control).value) / 1000.0;
    let motions = [Motion::Hand, Motion::Cycle, Motion::Pass, Motion::Drag];
    let beats = [0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];
    let course = CourseSettings {
        motion: motions[knobs.choice(Control::Motion)],
        offset_s: ms(Control::Offset),
        range_s: ms(Control::Range),
        pace: match knobs.is_on(Control::Sync) {
            true => Pace::Beats(beats[knobs.choice(Control::Length)]),
            false => Pace::Hertz(knobs.get(Control::Rate).value.into()),
        },
        curve: [Curve::Sine, Curve::Triangle, Curve::Reel][knobs.choice(Control::Curve)],
        start: knobs.is_on(Control::StartPass),
        hands: Hands::Drag(part(Control::Drag)),
        wobble: WobbleAmounts {
            wow: part(Control::Wow),
            flutter: part(Control::Flutter),
        },
    };
    let mix = MixSettings {
        engage: knobs.is_on(Control::Engage),
        blend: part(Control::Blend),
        flip: knobs.is_on(Control::Flip),
        width: part(Control::Width),
    };
    Decks {
        course,
        mix,
        history: DeckHistory::default(),
        transport: TransportState::Rolling,
    }
}

fn counted(number: usize, voice: u8, gap_s: f64) -> Hit {
    let scatter_s = 9e-6 * (number as f64 * 2.4).sin();
    Hit {
        at_s: number as f64,
        outcome: HitOutcome::Counted {
            voice,
            gap_s: gap_s + scatter_s,
            spot_to_first_s: gap_s + scatter_s,
        },
    }
}

/// A damped wave whose top is at the gap.
fn curve(gap_s: f64) -> LagCurve {
    let wave = |width_s: f64| {
        std::array::from_fn::<f32, POINTS, _>(|point| {
            let away = (LagCurve::lag_s(point) - gap_s) / width_s;
            ((-away.abs()).exp() * (3.0 * away).cos()) as f32
        })
    };
    LagCurve {
        fronts: wave(0.15e-3),
        body: wave(0.4e-3),
    }
}

/// One drum in two microphones.
struct Drums {
    first: Vec<f32>,
    second: Vec<f32>,
}

impl Drums {
    fn pairs(&self) -> impl Iterator<Item = (&[f32], &[f32])> {
        std::iter::once((&self.first[..], &self.second[..]))
    }
}

/// Decaying modes, the same ones later and a little differently weighted in the second.
fn drums(gap_s: f64) -> Drums {
    let modes = [
        185.0, 330.0, 480.0, 700.0, 1010.0, 1380.0, 1790.0, 2400.0, 3130.0, 3900.0, 4700.0,
    ];
    let sound = |late_s: f64, tilt: f64| -> Vec<f32> {
        let sample = |n: usize| {
            let t = n as f64 / RATE - 0.012 - late_s;
            let mode = |(k, hz): (usize, &f64)| {
                let phase = std::f64::consts::TAU * hz * t + tilt * k as f64 * 0.3;
                (-t * (60.0 + 0.05 * hz)).exp() * phase.sin()
            };
            let sum: f64 = modes.iter().enumerate().map(mode).sum();
            if t > 0.0 { 0.05 * sum as f32 } else { 0.0 }
        };
        (0..2976).map(sample).collect()
    };
    Drums {
        first: sound(0.0, 0.0),
        second: sound(gap_s, 0.25),
    }
}
