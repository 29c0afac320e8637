//! A take measured and corrected: everything that answers and sheets are made of.

use std::path::PathBuf;

use plumbline_hosting::Bundle;

use super::correcting::{Corrected, correct};
use super::measuring::Measurements;
use super::output_file::OutputFile;
use super::settings::Settings;
use super::spot_file::SpotFile;
use super::spot_measurement::SpotMeasurement;
use super::units::Units;
use super::verdict::verdict;
use crate::audio::TakeFiles;
use crate::failure::Outcome;

/// Everything that is written beside a sheet.
#[derive(Default)]
pub struct Outputs {
    /// Versions of the pair.
    pub pair: Vec<OutputFile>,
    /// Close microphones, delayed to fit.
    pub spots: Vec<SpotFile>,
}

/// Both passes over a take.
pub struct AlignedTake {
    /// The files.
    pub files: TakeFiles,
    /// The choices.
    pub settings: Settings,
    /// The take's rate and air.
    pub units: Units,
    /// First pass.
    pub measured: Measurements,
    /// Second pass.
    pub corrected: Corrected,
    /// What was written.
    pub written: Vec<PathBuf>,
}

/// Plays a measured take through the plugin once more and writes the output files.
///
/// # Errors
///
/// When a file cannot be read or written, or the plugin fails.
pub fn align(
    bundle: &Bundle,
    files: TakeFiles,
    settings: Settings,
    measured: Measurements,
    outputs: Outputs,
    sample_rate: u32,
) -> Outcome<AlignedTake> {
    let Outputs { mut pair, spots } = outputs;
    let corrected = correct(bundle, &files, &settings, &measured, &mut pair, spots)?;
    let mut written = pair
        .into_iter()
        .map(|output| output.file.finish())
        .collect::<Outcome<Vec<PathBuf>>>()?;
    written.extend(corrected.spots.iter().map(|spot| spot.path.clone()));
    let units = Units {
        sample_rate: f64::from(sample_rate),
        temperature_c: settings.temperature_c,
    };
    Ok(AlignedTake {
        files,
        settings,
        units,
        measured,
        corrected,
        written,
    })
}

impl AlignedTake {
    /// The measurement with the deciding spot, with the reach that was still missing in the end.
    pub fn measurement(&self) -> SpotMeasurement {
        SpotMeasurement {
            missing_reach_s: self.corrected.missing_reach_s,
            ..self.measured.spots[0].clone()
        }
    }

    /// The verdict's sentences.
    pub fn verdict(&self) -> Vec<String> {
        verdict(&self.measurement(), self.settings.target, &self.units)
    }

    /// Level of the mono sum on the hits, after minus before, dB.
    pub fn mono_sum_gain_db(&self) -> f64 {
        let (before, after) = (
            self.corrected.before.sum_power(),
            self.corrected.after.sum_power(),
        );
        if before > 0.0 && after > 0.0 {
            10.0 * (after / before).log10()
        } else {
            0.0
        }
    }
}
