//! Measurements, hits and decks for the states.

use super::state::State;
use crate::editor::frame::{Control, DeckHistory, Decks, Knobs, Tape};
use crate::exchange::{PairSnapshot, PickedByPlaying, Report, TransportState};
use crate::session::{Line, Overhead, TakeNotes};
use plumbline_dsp::decks::drag::DragControl;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::wobble::WobbleAmounts;
use plumbline_dsp::measure::drum_sum::DrumSum;
use plumbline_dsp::measure::lag_curve::{LagCurve, POINTS};
use plumbline_dsp::measurement::{
    Drum, DrumKind, Hit, HitOutcome, KitAim, KitMatch, Lag, Measurement, Polarity, Refused, Why,
};
use plumbline_dsp::meters::pair_spectrum::PairSpectrumMeter;
use plumbline_dsp::print::level_histogram::LevelHistogram;
use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};
use plumbline_dsp::units::amplitude;

/// Hz.
pub const RATE: f64 = 48_000.0;

/// The measurement of a state with its hits.
pub fn report(state: State) -> Report {
    let mut report = Report {
        measurement: measurement(state),
        ..Report::default()
    };
    if state == State::Picking {
        report.playing = Some(PickedByPlaying {
            request: 1,
            left: 2,
        });
    }
    for (place, drum) in report.measurement.drums().iter().enumerate() {
        report.sums[place] = drum
            .gap
            .map(|gap| sum(gap.attack_s, 180.0 + 60.0 * place as f64));
    }
    if let Some(gap_s) = state.gap_s() {
        let hits = report.measurement.hits as usize;
        for (number, entry) in report.log.iter_mut().take(hits).enumerate() {
            *entry = Some(counted(number, 0, gap_s));
        }
        for (number, entry) in report.log.iter_mut().skip(hits).take(8).enumerate() {
            let drum = 1 + (number % 2) as u8;
            *entry = Some(counted(number, drum, -3.0 * gap_s * f64::from(drum)));
        }
        report.log[hits + 7] = Some(Hit {
            at_s: 30.0,
            outcome: HitOutcome::Buried,
        });
    }
    report
}

/// A drum of two notes in both microphones, the second later.
fn sum(gap_s: f64, hz: f64) -> DrumSum {
    let note = |hz: f64, lag_s: f64| (std::f64::consts::TAU * hz * lag_s).cos();
    let shared = |point| {
        let lag_s = DrumSum::gap_s(point) - gap_s;
        (0.25 * note(hz, lag_s) + 0.22 * note(7.3 * hz, lag_s)) as f32
    };
    DrumSum {
        first_part: 0.45,
        shared: std::array::from_fn(shared),
    }
}

/// Names that the engineer has given, and the target.
pub fn notes(state: State) -> TakeNotes {
    let mut notes = TakeNotes::default();
    let drums = measurement(state);
    match state {
        State::WholeKit => {
            notes.name_drum(drums.drums[4].signature, "big tom");
            notes.name_overhead(Overhead::First, "hat side");
            notes.name_overhead(Overhead::Second, "floor side");
            notes.write(
                Line::Microphones,
                "two small condensers, a dynamic on the kick",
            );
        }
        State::Targeted => {
            let mut yesterday = drums;
            for drum in &mut yesterday.drums {
                drum.gap = drum.gap.map(|gap| Lag {
                    attack_s: gap.attack_s - 88e-6,
                    ..gap
                });
            }
            notes.keep_target(&yesterday);
        }
        _ => {}
    }
    notes
}

/// The tape as the knobs stand, and a take of which 90 % lie around -36 dBFS, 9 % at -12 and 1 % at -6.
pub fn tape_as_set(knobs: &Knobs) -> Tape {
    let mut levels = LevelHistogram::new();
    for n in 0..100 {
        let dbfs = match n {
            0 => -6.0,
            1..10 => -12.0,
            _ => -36.0 + f64::from(n % 9) - 4.0,
        };
        levels.push(amplitude(dbfs) as f32);
    }
    let value = |control| f64::from(knobs.get(control).value);
    let settings = PrintSettings {
        level_db: value(Control::TapeLevel),
        speed: TapeSpeed::ALL[knobs.choice(Control::TapeSpeed)],
        equalisation: Equalisation::ALL[knobs.choice(Control::TapeEqualisation)],
        hiss_db: None,
        lineup: Lineup {
            fluxivity_nwb_m: value(Control::Fluxivity),
            reference_dbfs: value(Control::ReferenceLevel),
        },
    };
    Tape { settings, levels }
}

/// What was measured in a state.
fn measurement(state: State) -> Measurement {
    let refused = refused(state);
    let Some(gap_s) = state.gap_s() else {
        return Measurement {
            refused,
            ..Measurement::default()
        };
    };
    let hits = if state == State::OneHit { 1 } else { 12 };
    let of_pair = state != State::Mono;
    let spot_to_first_s = if of_pair { 2.972e-3 } else { gap_s };
    let with_spot = state != State::NoSpot;
    let lag = |lag_s| lag(state, lag_s);
    let mut measurement = Measurement {
        hits,
        refused,
        gap: of_pair.then(|| lag(gap_s)),
        spot_to_first: with_spot.then(|| lag(spot_to_first_s)),
        spot_to_second: (of_pair && with_spot).then(|| lag(spot_to_first_s + gap_s)),
        drum_count: 3,
        chosen: Some(0),
        why: Why::Snare,
        spots_own: with_spot.then_some(0),
        spot_heard: with_spot,
        ..Measurement::default()
    };
    let drums = [
        (DrumKind::Snare, hits, 1.0),
        (DrumKind::Kick, 4, -3.0),
        (DrumKind::Cymbal, 4, -6.0),
    ];
    for (number, (entry, (kind, hits, part))) in measurement.drums.iter_mut().zip(drums).enumerate()
    {
        let gap = Lag {
            spread_s: 8e-6,
            ..lag(part * gap_s)
        };
        *entry = Drum {
            number: number as u8,
            kind,
            hits,
            gap: of_pair.then_some(gap),
            spot_to_first: with_spot.then_some(gap),
            ..Drum::default()
        };
    }
    let levels = |number: usize| -> [f32; 10] {
        std::array::from_fn(|band| 9.0 * ((band + number) % 5) as f32 - 18.0)
    };
    for (number, drum) in measurement.drums.iter_mut().enumerate() {
        drum.signature.levels_db = levels(number);
    }
    if state == State::WholeKit {
        add_toms(&mut measurement, gap_s);
    }
    measurement
}

/// Two toms and a drum whose fronts were not found; the spot is the kick's.
fn add_toms(measurement: &mut Measurement, gap_s: f64) {
    let rows = [
        (DrumKind::Other, 3, 0.0),
        (DrumKind::Tom, 4, -8.0),
        (DrumKind::Tom, 5, 2.2),
    ];
    for (place, (kind, hits, part)) in rows.into_iter().enumerate() {
        let number = 3 + place;
        let gap = Lag {
            spread_s: 30e-6,
            confidence: 0.6 - 0.15 * place as f64,
            polarity: [Polarity::Same, Polarity::Inverted, Polarity::Undecided][place],
            ..lag(State::WholeKit, part * gap_s)
        };
        let drum = &mut measurement.drums[number];
        drum.number = number as u8;
        drum.kind = kind;
        drum.hits = hits;
        drum.gap = (kind == DrumKind::Tom).then_some(gap);
    }
    measurement.drum_count = 6;
    measurement.spots_own = Some(1);
    let aim = KitAim {
        gap_s: 0.6 * gap_s,
        loss_db: -0.8,
    };
    measurement.kit = Some(KitMatch {
        upright: aim,
        turned: aim,
        recorded_db: -2.4,
    });
}

fn refused(state: State) -> Refused {
    Refused {
        clipped: if state == State::AllRefused { 3 } else { 0 },
        buried: if state.gap_s().is_some() { 2 } else { 0 },
    }
}

/// A lag as sure as the state says.
fn lag(state: State, attack_s: f64) -> Lag {
    let body_later_s = match state {
        State::FirstIsLater => 90e-6,
        _ => 29e-6,
    };
    Lag {
        attack_s,
        body_s: attack_s + body_later_s,
        spread_s: if state == State::OneHit { 10e-6 } else { 3e-6 },
        polarity: match state {
            State::Undecided => Polarity::Undecided,
            State::Inverted => Polarity::Inverted,
            _ => Polarity::Same,
        },
        polarity_odds: if state == State::Undecided { 0.6 } else { 0.99 },
        confidence: match state {
            State::Undecided => 0.41,
            State::OneHit => 0.46,
            State::Unsure => 0.12,
            _ => 0.9,
        },
    }
}

/// What is drawn of the hits of a state.
pub fn snapshot(state: State) -> PairSnapshot {
    let audible = match state {
        State::NotRunning | State::ListeningToNothing | State::Loaded => [false; 3],
        State::SpotSilent => [true, true, false],
        _ => [true; 3],
    };
    let blank = PairSnapshot {
        audible,
        ..PairSnapshot::default()
    };
    match (state, state.gap_s()) {
        (State::Loaded, _) | (_, None) => blank,
        (_, Some(gap_s)) => PairSnapshot {
            lag_curve: curve(gap_s),
            spectrum: PairSpectrumMeter::new(RATE, 2976).measure(drums(gap_s).pairs()),
            ..blank
        },
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
        null_at: Some(f64::from(knobs.get(Control::NullAt).value)).filter(|bar| *bar >= 1.0),
        ease_bars: knobs.get(Control::Ease).value.into(),
        drag: DragControl::Brake(part(Control::Drag)),
        wobble: WobbleAmounts {
            wow: part(Control::Wow),
            flutter: part(Control::Flutter),
        },
    };
    let mix = MixSettings {
        engage: knobs.is_on(Control::Engage),
        engage_s: 0.0,
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

fn counted(number: usize, drum: u8, gap_s: f64) -> Hit {
    let scatter_s = 9e-6 * (number as f64 * 2.4).sin();
    Hit {
        at_s: number as f64,
        outcome: HitOutcome::Counted {
            drum,
            gap_s: Some(gap_s + scatter_s),
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
    fn pairs(&self) -> impl Iterator<Item = [&[f32]; 3]> {
        std::iter::once([&self.first[..], &self.second[..], &self.first[..]])
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
