//! The tape machine as it is set, and how loud the take comes to it.

use plumbline_dsp::print::level_histogram::LevelHistogram;
use plumbline_dsp::print::machine::Machine;
use plumbline_dsp::print::settings::{Lineup, PrintSettings};
use plumbline_dsp::print::third_harmonic::{LINES, played_tone};
use plumbline_dsp::units::decibels;

/// The tape machine and the take on its way to it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tape {
    pub settings: PrintSettings,
    /// Peaks of the take, dBFS.
    pub levels: LevelHistogram,
}

impl Tape {
    /// The machine that is lined up for these settings.
    pub fn machine(&self) -> Machine {
        Machine::lined_up(self.settings.speed, self.settings.equalisation)
    }

    /// Third harmonic of a 1 kHz sine that is recorded so many dB over the reference, as a part of the fundamental.
    pub fn third(&self, machine: &Machine, over_reference_db: f64) -> f64 {
        let lineup = self.settings.lineup;
        let reference = lineup.fluxivity_nwb_m / Lineup::STANDARD.fluxivity_nwb_m;
        played_tone(machine, over_reference_db + decibels(reference)).third
    }

    /// Share of the take, 0 to 1, that is recorded between two levels over the reference, dB.
    pub fn share(&self, from_db: f64, to_db: f64) -> f64 {
        let above = |db: f64| self.levels.share_above(self.peak_dbfs(db));
        above(from_db) - above(to_db)
    }

    /// Shares of the take above each line of third harmonic; `None` while nothing has been counted.
    pub fn shares(&self) -> Option<[f64; LINES.len()]> {
        let heard = self.levels.counted() > 0;
        heard.then(|| self.levels.shares(&self.settings))
    }

    /// Peak that is recorded so far over the reference, dBFS.
    fn peak_dbfs(&self, over_reference_db: f64) -> f64 {
        let PrintSettings {
            level_db, lineup, ..
        } = self.settings;
        over_reference_db - level_db + lineup.reference_dbfs
    }
}
