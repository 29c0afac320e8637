//! Real strokes put together: each at its place and gain, every microphone at the same offset.

use std::path::Path;
use std::sync::OnceLock;

use plumbline_dsp::measurement::Polarity;

use super::{Cable, Drum, FOLDERS, GrooveSettings, Microphone, RATE, Style};
use crate::noise::Noise;
use crate::recordings::{flac, folder, names};
use crate::take::Take;

/// Beats a minute.
const TEMPO: f64 = 104.0;
/// Human timing, standard deviation in seconds.
const TIMING_S: f64 = 0.004;
/// Silence before the first beat, seconds.
const PRE_ROLL_S: f64 = 0.5;
/// Peak of the loudest channel, full scale = 1.
pub const PEAK: f64 = 0.7;
/// Noise of every microphone, rms, before the peak is set.
const FLOOR: f64 = 1e-6;

/// One stroke: the same instant through every microphone, in the order of [`FOLDERS`].
type Stroke = [Vec<f32>; FOLDERS.len()];

/// The strokes of every drum, in the order of [`Drum`].
pub struct Strokes([Vec<Stroke>; Drum::ALL.len()]);

/// The strokes, decoded once; `None` (and a note) without the recordings.
pub fn strokes() -> Option<&'static Strokes> {
    static STROKES: OnceLock<Option<Strokes>> = OnceLock::new();
    STROKES
        .get_or_init(|| {
            let grooves = folder()?.join("grooves");
            if !grooves.is_dir() {
                println!("skipped: no strokes for grooves");
                return None;
            }
            Some(Strokes(Drum::ALL.map(|drum| read(&grooves, drum))))
        })
        .as_ref()
}

fn read(grooves: &Path, drum: Drum) -> Vec<Stroke> {
    let files = names(&grooves.join(FOLDERS[0]));
    let mine = files.iter().filter(|name| name.starts_with(drum.files()));
    mine.map(|name| FOLDERS.map(|folder| flac(&grooves.join(folder).join(name)).swap_remove(0)))
        .collect()
}

/// A groove being assembled.
struct Assembly<'a> {
    strokes: &'a Strokes,
    settings: &'a GrooveSettings,
    microphones: [Microphone; 4],
    noise: Noise,
    last: [Option<usize>; Drum::ALL.len()],
    channels: [Vec<f64>; 4],
}

impl Strokes {
    /// Assembles the groove: another stroke of a drum each time, every microphone at the same offset.
    pub fn groove(&self, settings: &GrooveSettings) -> Take {
        let length =
            (settings.bars as f64 * 4.0 * 60.0 / TEMPO * RATE) as usize + 2 * RATE as usize;
        let mut noise = settings.noise();
        let [first, second] = settings.pair.microphones();
        let mut assembly = Assembly {
            strokes: self,
            settings,
            microphones: [first, second, Microphone::Kick, Microphone::Snare],
            last: [None; Drum::ALL.len()],
            channels: std::array::from_fn(|_| {
                noise.normals(length).iter().map(|x| x * FLOOR).collect()
            }),
            noise,
        };
        for beat in 0..settings.bars * 4 {
            assembly.beat(beat);
        }
        assembly.finished()
    }
}

impl Assembly<'_> {
    fn beat(&mut self, number: usize) {
        let beat = number as f64;
        let main = if number.is_multiple_of(2) {
            Drum::Kick
        } else {
            Drum::Snare
        };
        self.stroke(main, beat, [0.7, 1.0]);
        if number % 4 == 3 {
            self.stroke(Drum::Kick, beat + 0.5, [0.5, 0.8]);
        }
        if number % 4 == 1 {
            self.stroke(Drum::Snare, beat + 0.75, [0.1, 0.25]);
        }
        self.cymbals(beat);
        if number % 16 == 15 {
            for (drum, later) in [
                (Drum::HighTom, 0.25),
                (Drum::LowTom, 0.5),
                (Drum::LowTom, 0.75),
            ] {
                self.stroke(drum, beat + later, [0.8, 0.8]);
            }
        }
    }

    fn cymbals(&mut self, beat: f64) {
        let (drum, halves, loudest): (_, &[f64], _) = match self.settings.style {
            Style::Plain => return,
            Style::Hats => (Drum::ClosedHat, &[0.0, 0.5], 1.0),
            Style::HalfOpen => (Drum::HalfOpenHat, &[0.0, 0.5], 1.0),
            Style::Open => (Drum::OpenHat, &[0.0], 0.9),
        };
        let gain = self.settings.cymbals;
        for half in halves {
            self.stroke(drum, beat + half, [0.5 * gain, loudest * gain]);
        }
    }

    /// One stroke at a beat, its gain drawn from a range.
    fn stroke(&mut self, drum: Drum, beat: f64, gain: [f64; 2]) {
        let strokes = &self.strokes.0[drum as usize];
        let mut number = (self.noise.uniform() * strokes.len() as f64) as usize;
        let last = &mut self.last[drum as usize];
        if *last == Some(number) {
            number = (number + 1) % strokes.len();
        }
        *last = Some(number);
        let gain = self.noise.between(gain[0], gain[1]);
        let time_s = PRE_ROLL_S + beat * 60.0 / TEMPO + TIMING_S * self.noise.normal();
        let start = (time_s * RATE) as usize;
        if !self.settings.drums.contains(&drum) {
            return;
        }
        for (channel, microphone) in self.channels.iter_mut().zip(self.microphones) {
            let sound = &strokes[number][microphone as usize];
            for (out, x) in channel[start..].iter_mut().zip(sound) {
                *out += gain * f64::from(*x);
            }
        }
    }

    /// Four channels, the loudest at the peak that was asked for.
    fn finished(self) -> Take {
        let loudest = self
            .channels
            .iter()
            .flatten()
            .fold(0.0f64, |a, x| a.max(x.abs()));
        let gain = PEAK / loudest;
        let (sign, polarity) = match self.settings.second {
            Cable::AsRecorded => (1.0, Polarity::Same),
            Cable::Reversed => (-1.0, Polarity::Inverted),
        };
        let [first, second, kick, snare] = self.channels;
        let scaled =
            |channel: Vec<f64>, gain: f64| channel.iter().map(|x| (x * gain) as f32).collect();
        Take {
            rate: RATE,
            first: scaled(first, gain),
            second: scaled(second, sign * gain),
            kick: scaled(kick, gain),
            snare: scaled(snare, gain),
            truth: self.settings.truth(),
            polarity,
        }
    }
}
