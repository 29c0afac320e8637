//! The tape: what the stages before it give out, printed at the place of the song where it was heard.

use super::stage::{Controls, Stage, StageKind, StageSetup};
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::print::level_histogram::LevelHistogram;
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_dsp::print::take_levels::TakeLevels;
use plumbline_dsp::print::{Print, PrintSetup, latency};
use plumbline_dsp::units::sane_rate;

/// Samples by which a host's position may differ from the counted one before it is taken over: more than the rounding of
/// a position that lies between two samples.
const ROUNDING: f64 = 0.75;

/// The print, to be built.
pub struct Kind;

impl StageKind for Kind {
    fn latency(&self, setup: &StageSetup) -> usize {
        latency(setup.sample_rate)
    }

    fn build(&self, setup: &StageSetup) -> Box<dyn Stage> {
        Box::new(PrintStage {
            print: Print::new(PrintSetup {
                sample_rate: setup.sample_rate,
                channels: setup.channels,
            }),
            levels: TakeLevels::new(setup.sample_rate),
            settings: PrintSettings::default(),
            place: TapePlace::new(setup),
        })
    }
}

struct PrintStage {
    print: Print,
    levels: TakeLevels,
    settings: PrintSettings,
    place: TapePlace,
}

impl Stage for PrintStage {
    fn tail(&self) -> usize {
        self.print.tail()
    }

    fn fill(&self) -> usize {
        self.print.latency()
    }

    fn follow(&mut self, controls: &Controls<'_>) {
        self.settings = controls.params.print.settings();
    }

    fn reset(&mut self) {
        self.print.reset();
        self.levels.reset();
        self.place.reset();
    }

    fn process(&mut self, channels: &mut [&mut [f32]], _spot: &[f32], transport: Transport) {
        self.levels.push(channels);
        let length = channels.first().map_or(0, |channel| channel.len());
        let song_s = self.place.advance(transport, length);
        self.print.process(channels, song_s, &self.settings);
    }

    fn levels(&self) -> Option<&LevelHistogram> {
        Some(self.levels.histogram())
    }
}

/// Counts the samples of the song, so that the tape's noise does not depend on how the song is cut into blocks.
struct TapePlace {
    /// Samples a second, as the host counts.
    sample_rate: f64,
    /// The same as the tape counts.
    tape_rate: f64,
    /// Samples by which the audio is late already.
    delayed_before: i64,
    /// Of the next sample, from the song's start.
    next: i64,
}

impl TapePlace {
    fn new(setup: &StageSetup) -> Self {
        Self {
            sample_rate: setup.sample_rate,
            tape_rate: sane_rate(setup.sample_rate),
            delayed_before: setup.delayed_before as i64,
            next: 0,
        }
    }

    fn reset(&mut self) {
        self.next = 0;
    }

    /// Seconds from the song's start to the first of `length` samples, on the tape's own clock. A song that stands is
    /// counted on.
    fn advance(&mut self, transport: Transport, length: usize) -> f64 {
        if let Transport::Running(position) = transport {
            let told = position.sane().seconds * self.sample_rate;
            if (told - self.next as f64).abs() > ROUNDING {
                self.next = told.round() as i64;
            }
        }
        let first = self.next.saturating_sub(self.delayed_before);
        self.next = self.next.saturating_add(length as i64);
        first as f64 / self.tape_rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::decks::song_position::SongPosition;

    /// Index of the first sample, of a stage 100 samples behind the input at 48 kHz.
    fn index(place: &mut TapePlace, seconds: f64, length: usize) -> f64 {
        let position = SongPosition {
            seconds,
            ..SongPosition::default()
        };
        (place.advance(Transport::Running(position), length) * 48_000.0).round()
    }

    #[test]
    fn between_two_samples_the_count_goes_on_evenly_and_a_jump_is_followed() {
        let setup = StageSetup {
            sample_rate: 48_000.0,
            channels: 2,
            reach_s: 0.0,
            delayed_before: 100,
        };
        let mut place = TapePlace::new(&setup);
        // Halfway between samples, told a hair too early and a hair too late in turn.
        let at = |sample: f64| (sample + 0.5) / 48_000.0;
        let first = index(&mut place, at(1000.0), 10);
        for (n, hair) in [1e-9, -1e-9, 1e-9, -1e-9].into_iter().enumerate() {
            let told = at(1010.0 + 10.0 * n as f64) + hair;
            let expected = first + 10.0 * (n as f64 + 1.0);
            assert_eq!(index(&mut place, told, 10), expected, "block {n}");
        }
        assert_eq!(index(&mut place, 1.0, 10), 47_900.0);
        let standing = place.advance(Transport::Stopped, 10) * 48_000.0;
        assert_eq!(standing.round(), 47_910.0);
    }
}
