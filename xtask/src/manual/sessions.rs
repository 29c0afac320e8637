//! The demo's kit as the examples need it: recorded, corrected, and with the kick in two tracks.

use std::path::{Path, PathBuf};

use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::Bundle;

use crate::alignment::{
    AskedDrum, OutputFile, Outputs, Part, Settings, TimeRange, Version, align, measure,
};
use crate::audio::{AudioWriter, Overheads, TakeFiles, WaveForm};
use crate::failure::Outcome;
use crate::simulation::barn::{self, SAMPLE_RATE, TEMPERATURE_C};

/// Level of the kick's microphone in the two tracks, dB: the demo's.
const KICK_DB: f64 = -6.0;

/// The files that recipes start from.
pub struct Sessions {
    overheads: PathBuf,
    kick: PathBuf,
    /// The corrected pair.
    pub pair: PathBuf,
    /// The corrected pair with the kick in it.
    pub two_tracks: PathBuf,
}

impl Sessions {
    /// Records the kit and makes the files.
    pub fn record(bundle: &Bundle, folder: &Path) -> Outcome<Self> {
        let barn::Session {
            overheads: [first, second],
            kick,
            ..
        } = barn::record();
        let sessions = Self {
            overheads: store(&folder.join("overheads.wav"), &[&first, &second])?,
            kick: store(&folder.join("kick.wav"), &[&kick])?,
            pair: folder.join("pair.wav"),
            two_tracks: folder.join("two-tracks.wav"),
        };
        let outputs = [
            (&sessions.pair, Version::After),
            (&sessions.two_tracks, Version::Print),
        ];
        sessions.correct(bundle, Match::Attack, 100.0, &outputs)?;
        Ok(sessions)
    }

    /// The recorded pair corrected into stereo files.
    pub fn correct(
        &self,
        bundle: &Bundle,
        target: Match,
        amount: f64,
        to: &[(&PathBuf, Version)],
    ) -> Outcome {
        let settings = Settings {
            anchor: Anchor::Later,
            target,
            drum: AskedDrum::Auto,
            amount,
            temperature_c: TEMPERATURE_C,
            reach_ms: None,
            spot_in_print_db: Some(KICK_DB),
            tape: None,
        };
        let files = TakeFiles {
            overheads: Overheads::Together(self.overheads.clone()),
            spots: vec![self.kick.clone()],
        };
        let measured = measure(bundle, &files, TimeRange::ALL, &settings)?;
        let output = |(path, version): &(&PathBuf, Version)| -> Outcome<OutputFile> {
            Ok(OutputFile {
                version: *version,
                part: Part::Pair,
                file: AudioWriter::create(path, &form(2))?,
            })
        };
        let pair = to.iter().map(output).collect::<Outcome<_>>()?;
        let outputs = Outputs {
            pair,
            spots: Vec::new(),
        };
        align(bundle, files, settings, measured, outputs, SAMPLE_RATE)?;
        Ok(())
    }
}

fn store(path: &Path, channels: &[&[f32]]) -> Outcome<PathBuf> {
    let mut file = AudioWriter::create(path, &form(channels.len()))?;
    file.write(channels)?;
    file.finish()
}

fn form(channels: usize) -> WaveForm {
    WaveForm {
        sample_rate: SAMPLE_RATE,
        channels,
        time_reference: None,
    }
}
