//! Everything that a page shows, as plain copies: the measurement, the picture of the hits, the plan and the controls.

use super::control::{Control, Knobs};
use super::decks::Decks;
use crate::params::PlumblineParams;
use crate::telemetry::{Picture, Report, Telemetry};
use plumbline_dsp::measurement::{Lag, Measurement};
use plumbline_dsp::meters::mono_sum_loss::BANDS;
use plumbline_dsp::meters::pair_spectrum::{PairShift, PairSpectrum};
use plumbline_dsp::plan::{Plan, PlanSettings, plan};
use plumbline_dsp::units;
use std::sync::atomic::Ordering::Relaxed;

/// Rate that lengths are shown for before the host has said one, Hz.
const USUAL_RATE: f64 = 48_000.0;

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channels {
    /// First and second, with or without a spot.
    Pair,
    /// One channel, measured against the spot.
    Mono,
}

/// What the host runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// Samples a second; `None` before the first activation.
    pub sample_rate: Option<f64>,
    /// Samples from input to output.
    pub latency: u32,
    /// Reach that is active, seconds.
    pub reach_s: f64,
    pub channels: Channels,
    /// The layout has a spot.
    pub spot: bool,
}

/// What the two channels are like together, on the hits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Together {
    /// -1 to 1, 100 Hz to 5 kHz.
    pub correlation: f64,
    /// Mono-sum loss of each third octave, dB; `None` where nothing was recorded.
    pub losses_db: [Option<f64>; BANDS],
}

impl Together {
    fn of(spectrum: &PairSpectrum, shift: PairShift) -> Self {
        Self {
            correlation: spectrum.correlation(shift),
            losses_db: spectrum.losses_db(shift),
        }
    }

    /// The third octave that loses most, and how much.
    pub fn worst(&self) -> Option<(usize, f64)> {
        let bands = self.losses_db.iter().enumerate();
        let heard = bands.filter_map(|(band, loss)| Some((band, (*loss)?)));
        heard.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Before and after, where hits have been heard since the measurement began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    pub picture: Picture,
    pub before: Together,
    /// With what Correct does when it is on.
    pub after: Together,
}

/// One look at the plugin.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    pub session: Session,
    pub knobs: Knobs,
    pub report: Report,
    /// Which of first, second and spot are heard at present.
    pub present: [bool; 3],
    pub heard: Option<Heard>,
    /// What Correct does when it is on.
    pub plan: Plan,
    /// What the two decks do.
    pub decks: Decks,
}

impl Frame {
    /// Looks at everything. `picture` is the newest one drawn.
    pub fn look(params: &PlumblineParams, telemetry: &Telemetry, picture: &Picture) -> Self {
        let session = Session::of(telemetry);
        let report = params.measurement.report();
        let settings = PlanSettings {
            correct: true,
            ..params.plan_settings(session.reach_s)
        };
        Self::compose(session, Knobs::of(params), report, picture, &settings)
    }

    /// The same from its parts.
    pub fn compose(
        session: Session,
        knobs: Knobs,
        report: Report,
        picture: &Picture,
        settings: &PlanSettings,
    ) -> Self {
        let channels = match session.channels {
            Channels::Pair => 2,
            Channels::Mono => 1,
        };
        let plan = plan(&report.measurement, channels, settings);
        let spectrum = &picture.spectrum;
        let drawn = spectrum.hits() > 0 && picture.epoch == report.epoch;
        let heard = drawn.then(|| Heard {
            picture: *picture,
            before: Together::of(spectrum, PairShift::default()),
            after: Together::of(spectrum, shift(session.channels, &plan)),
        });
        Self {
            session,
            knobs,
            report,
            present: picture.heard,
            heard,
            plan,
            decks: Decks::default(),
        }
    }

    /// The measurement.
    pub fn measurement(&self) -> &Measurement {
        &self.report.measurement
    }

    /// The lag that decides: second after first; of a mono main, channel after spot.
    pub fn lag(&self) -> Option<Lag> {
        match self.session.channels {
            Channels::Pair => self.measurement().gap,
            Channels::Mono => self.measurement().spot_to_first,
        }
    }

    /// Hits that decide.
    pub fn hits(&self) -> u32 {
        self.measurement().hits
    }

    /// What is left of the lag when Correct is on, seconds.
    pub fn left_s(&self) -> Option<f64> {
        let moved = shift(self.session.channels, &self.plan).later_s;
        self.lag().map(|lag| lag.attack_s + moved)
    }

    pub fn air(&self) -> Air {
        Air {
            sample_rate: self.session.sample_rate.unwrap_or(USUAL_RATE),
            celsius: f64::from(self.knobs.get(Control::Temperature).value),
        }
    }
}

impl Session {
    fn of(telemetry: &Telemetry) -> Self {
        let sample_rate = telemetry.sample_rate.load(Relaxed);
        Self {
            sample_rate: (sample_rate > 0.0).then_some(sample_rate),
            latency: telemetry.latency.load(Relaxed),
            reach_s: telemetry.reach_s.load(Relaxed),
            channels: match telemetry.channels.load(Relaxed) {
                1 => Channels::Mono,
                _ => Channels::Pair,
            },
            spot: telemetry.spot.load(Relaxed),
        }
    }
}

/// What a plan does to the second of the two that are compared.
fn shift(channels: Channels, plan: &Plan) -> PairShift {
    let later_s = match channels {
        Channels::Pair => plan.second_s - plan.first_s,
        Channels::Mono => plan.first_s,
    };
    PairShift {
        later_s,
        flip: plan.flip,
    }
}

/// What turns a time into samples and lengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Samples a second.
    pub sample_rate: f64,
    pub celsius: f64,
}

impl Air {
    pub fn samples(&self, seconds: f64) -> f64 {
        units::samples(seconds, self.sample_rate)
    }

    pub fn cm(&self, seconds: f64) -> f64 {
        units::cm(seconds, self.celsius)
    }

    pub fn inches(&self, seconds: f64) -> f64 {
        units::inches(seconds, self.celsius)
    }
}
