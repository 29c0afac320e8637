//! A tape machine with its tape, as lengths, time constants and corners: what its filters are built from, in closed form.

use super::contour::Contour;
use super::equalisation::TimeConstants;
use super::losses::Losses;
use super::settings::{Equalisation, TapeSpeed};

/// Above this the equalisers stay level, hertz: nothing is heard there that would be worth its saturation.
const LEVEL_FROM_HZ: f64 = 22_000.0;
/// The recording amplifier passes no constant: its coupling's corner, hertz. Common practice, no source.
const COUPLING_HZ: f64 = 5.0;
/// Where a recording amplifier's rise towards low frequencies ends, hertz. Common practice, no source.
const RISE_ENDS_HZ: f64 = 2.5;

/// What stands before the magnetisation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Recording {
    /// The equaliser of a lined-up machine: what playback and losses take is given before.
    LinedUp,
    /// A wire.
    Straight,
}

/// Everything that the sound of a print depends on, but the level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    pub metres_a_second: f64,
    pub losses: Losses,
    pub time_constants: TimeConstants,
    /// `None`: the head plays long waves as it plays the others.
    pub contour: Option<Contour>,
    pub recording: Recording,
}

/// One corner of a recording or playback amplifier against the one that ends it, (s + 2π `from`) / (s + 2π `to`), hertz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bass {
    pub from_hz: f64,
    pub to_hz: f64,
}

impl Bass {
    fn db(self, hz: f64) -> f64 {
        let power = |corner: f64| hz * hz + corner * corner;
        10.0 * (power(self.from_hz) / power(self.to_hz)).log10()
    }
}

impl Machine {
    /// A mastering machine, lined up for the standard.
    pub fn lined_up(speed: TapeSpeed, equalisation: Equalisation) -> Self {
        let metres_a_second = speed.metres_a_second();
        Self {
            metres_a_second,
            losses: Losses::MASTERING,
            time_constants: TimeConstants::of(speed, equalisation),
            contour: Some(Contour::at(metres_a_second)),
            recording: Recording::LinedUp,
        }
    }

    /// What losses leave and the playback equaliser makes of the treble, as an amplitude. The recording equaliser is one
    /// over it.
    pub fn treble_amplitude(&self, hz: f64) -> f64 {
        self.loss_amplitude(hz) * self.time_constants.treble_amplitude(hz.min(LEVEL_FROM_HZ))
    }

    /// What losses leave.
    pub fn loss_amplitude(&self, hz: f64) -> f64 {
        let hz = hz.clamp(1e-9, LEVEL_FROM_HZ);
        self.losses.amplitude(self.metres_a_second / hz * 1e6)
    }

    /// The recording amplifier's low corners.
    pub fn recording_bass(&self) -> impl Iterator<Item = Bass> + use<> {
        let coupling = Bass {
            from_hz: 0.0,
            to_hz: COUPLING_HZ,
        };
        let rise = self.time_constants.bass_s.map(|t2| Bass {
            from_hz: corner_hz(t2),
            to_hz: RISE_ENDS_HZ,
        });
        let lined_up = self.recording == Recording::LinedUp;
        [Some(coupling), rise]
            .into_iter()
            .flatten()
            .filter(move |_| lined_up)
    }

    /// The playback amplifier's low corner, where the standard has one.
    pub fn playback_bass(&self) -> impl Iterator<Item = Bass> + use<> {
        let fall = |t2: f64| Bass {
            from_hz: 0.0,
            to_hz: corner_hz(t2),
        };
        self.time_constants.bass_s.map(fall).into_iter()
    }

    /// Recording equalisation, dB: how much hotter than a middle frequency `hz` comes to the tape.
    pub fn recording_db(&self, hz: f64) -> f64 {
        let treble = match self.recording {
            Recording::LinedUp => -20.0 * self.treble_amplitude(hz).log10(),
            Recording::Straight => 0.0,
        };
        treble + self.recording_bass().map(|bass| bass.db(hz)).sum::<f64>()
    }

    /// From the magnetisation to the output, dB.
    pub fn playback_db(&self, hz: f64) -> f64 {
        let bass: f64 = self.playback_bass().map(|bass| bass.db(hz)).sum();
        let contour = self.contour.map_or(0.0, |contour| contour.db(hz));
        20.0 * self.treble_amplitude(hz).log10() + bass + contour
    }

    /// From input to output at low level, dB.
    pub fn response_db(&self, hz: f64) -> f64 {
        self.recording_db(hz) + self.playback_db(hz)
    }
}

/// Corner of a time constant.
fn corner_hz(seconds: f64) -> f64 {
    1.0 / (std::f64::consts::TAU * seconds)
}
