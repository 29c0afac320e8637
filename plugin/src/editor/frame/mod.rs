//! Everything that a page shows, as plain copies: the measurement, the snapshots, the plan and the controls.
//!
//! Promises values that do not change while a page is drawn. Called by the window and by every view; calls the
//! parameters and the exchange.

mod activation;
mod air;
mod controls;
mod deck_comb;
mod deck_history;
mod decks;
mod kit_row;
mod pair;
mod sheet_status;
mod tape;
mod versions;

pub use activation::{Activation, Channels};
pub use air::Air;
pub use controls::{Control, Knob, Knobs};
pub use deck_comb::{AUDIBLE_HZ, DeckComb};
pub use deck_history::{DeckHistory, OffsetPoint};
pub use decks::Decks;
pub use kit_row::KitRow;
pub use pair::{BeforeAfter, PairMeters};
pub use sheet_status::SheetStatus;
pub use tape::Tape;
pub use versions::{PresetStatus, Side, Versions};

use crate::exchange::{PairSnapshot, PickedByPlaying, Report, Telemetry};
use crate::params::{self, PlumblineParams};
use crate::session::{TakeNotes, WindowState};
use pair::{prints, shift};
use plumbline_dsp::drum_names::drum_name;
use plumbline_dsp::measurement::{Drum, HitOutcome, Lag, Measurement};
use plumbline_dsp::plan::{Plan, PlanSettings, plan};
use std::sync::Arc;

/// Rate that lengths are shown for before the host has said one, Hz.
const USUAL_RATE: f64 = 48_000.0;

/// The plugin at one moment.
#[derive(Clone, Debug)]
pub struct Frame {
    pub activation: Activation,
    pub knobs: Knobs,
    pub report: Report,
    /// Which of first, second and spot are audible at present.
    pub audible: [bool; 3],
    pub comparison: Option<BeforeAfter>,
    /// What Correct does when it is on.
    pub plan: Plan,
    /// What the two decks do.
    pub decks: Decks,
    /// What the engineer has noted of the take.
    pub notes: Arc<TakeNotes>,
    /// How the window was left: units, and where the kit is looked at from.
    pub window: WindowState,
    /// The drum that is being picked by playing it.
    pub playing: Option<PickedByPlaying>,
    /// What has become of the recall sheet that was asked for.
    pub sheet: SheetStatus,
    /// What the tape machine does.
    pub tape: Tape,
    /// What can be undone, and the other settings.
    pub versions: Versions,
}

impl Frame {
    /// Everything as it is now. `snapshot` is the newest one.
    pub fn read(params: &PlumblineParams, telemetry: &Telemetry, snapshot: &PairSnapshot) -> Self {
        let activation = Activation::of(telemetry);
        let report = params.measurement.report();
        let settings = PlanSettings {
            correct: true,
            ..params.plan_settings(activation.reach_s)
        };
        let frame = Self::compose(activation, Knobs::of(params), report, snapshot, &settings);
        Self {
            notes: params.measurement.notes(),
            playing: match params.drum.value() {
                params::Drum::Picked => params.measurement.playing(),
                _ => None,
            },
            ..frame
        }
    }

    /// The same from its parts.
    pub fn compose(
        activation: Activation,
        knobs: Knobs,
        report: Report,
        snapshot: &PairSnapshot,
        settings: &PlanSettings,
    ) -> Self {
        let channels = match activation.channels {
            Channels::Pair => 2,
            Channels::Mono => 1,
        };
        let plan = plan(&report.measurement, channels, settings);
        let spectrum = &snapshot.spectrum;
        let drawn = spectrum.hits() > 0 && snapshot.epoch == report.epoch;
        let level = knobs.get(Control::SpotLevel);
        let in_print = activation.channels == Channels::Pair && level.value > level.default;
        let spot_db = in_print.then_some(f64::from(level.value));
        let comparison = drawn.then(|| {
            let prints = prints(activation.channels, &plan, spot_db);
            let [before, after] = prints.map(|print| PairMeters::of(spectrum, print));
            BeforeAfter {
                snapshot: *snapshot,
                before,
                after,
            }
        });
        Self {
            activation,
            knobs,
            report,
            audible: snapshot.audible,
            comparison,
            plan,
            decks: Decks::default(),
            notes: Arc::default(),
            window: WindowState::default(),
            playing: report.playing,
            sheet: SheetStatus::None,
            versions: Versions::default(),
            tape: Tape::default(),
        }
    }

    /// The measurement.
    pub fn measurement(&self) -> &Measurement {
        &self.report.measurement
    }

    /// The lag that decides: second after first; of a mono main, channel after spot.
    pub fn lag(&self) -> Option<Lag> {
        match self.activation.channels {
            Channels::Pair => self.measurement().gap,
            Channels::Mono => self.measurement().spot_to_first,
        }
    }

    /// The lag of one drum, as [`Self::lag`] is of the one that is aligned.
    pub fn lag_of(&self, drum: &Drum) -> Option<Lag> {
        match self.activation.channels {
            Channels::Pair => drum.gap,
            Channels::Mono => drum.spot_to_first,
        }
    }

    /// Hits that decide.
    pub fn hits(&self) -> u32 {
        self.measurement().hits
    }

    /// Number of the drum of each hit that says a gap of its own, and that gap, seconds; oldest first.
    pub fn counted(&self) -> impl DoubleEndedIterator<Item = (u8, f64)> {
        let hits = self.report.log.iter().flatten();
        hits.filter_map(|hit| match hit.outcome {
            HitOutcome::Counted { drum, gap_s } => gap_s.map(|gap_s| (drum, gap_s)),
            _ => None,
        })
    }

    /// What a drum is called: by its own name where it has one, else by what it sounds like.
    pub fn drum_name(&self, drum: &Drum) -> String {
        match self.notes.drum_name(drum) {
            Some(name) => name.to_owned(),
            None => drum_name(drum, self.measurement().drums()).to_string(),
        }
    }

    /// The drums in the order of their rows: the one that is aligned first.
    pub fn rows(&self) -> impl Iterator<Item = &Drum> {
        let measurement = self.measurement();
        let chosen = measurement.chosen().map(|drum| drum.number);
        let others = measurement.drums().iter();
        let others = others.filter(move |drum| Some(drum.number) != chosen);
        measurement.chosen().into_iter().chain(others)
    }

    /// The lag as the newest hits of the drum that is aligned say it, seconds: the middle one of the last three, so that a
    /// moved stand shows at once and one odd stroke does not. The measurement itself where no hit is in the log.
    pub fn newest_lag_s(&self) -> Option<f64> {
        let chosen = self.measurement().chosen().map(|drum| drum.number);
        let own = self
            .counted()
            .rev()
            .filter(|(drum, _)| Some(*drum) == chosen);
        let mut last: Vec<f64> = own.map(|(_, lag_s)| lag_s).take(3).collect();
        last.sort_by(f64::total_cmp);
        let middle = last.get(last.len() / 2).copied();
        middle.or(self.lag().map(|lag| lag.attack_s))
    }

    /// What is left of the lag when Correct is on, seconds.
    pub fn left_s(&self) -> Option<f64> {
        let moved = shift(self.activation.channels, &self.plan).later_s;
        self.lag().map(|lag| lag.attack_s + moved)
    }

    pub fn air(&self) -> Air {
        Air {
            sample_rate: self.activation.sample_rate.unwrap_or(USUAL_RATE),
            celsius: f64::from(self.knobs.get(Control::Temperature).value),
            lengths: self.window.lengths,
        }
    }
}
