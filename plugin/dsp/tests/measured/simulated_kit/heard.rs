//! A pattern played in a room and heard by four microphones, drums and cymbals apart so that they can be mixed anew.

use std::sync::Arc;

use plumbline_dsp::measurement::Polarity;
use realfft::num_complex::Complex64;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use super::pattern::{Pattern, Played};
use super::room::{LEAD, MICROPHONES, Room};
use super::strokes::{LONGEST_S, Source, stroke};
use super::{Microphones, RATE, SimulatedKit};
use crate::kit::Equaliser;
use crate::noise::Noise;
use crate::take::{Take, Truth};

/// A stroke and its response, one behind the other.
const TRANSFORM: usize = 1 << 16;
const _: () = assert!((LONGEST_S + super::room::RESPONSE_S) * RATE <= TRANSFORM as f64);
/// Peak of the loudest channel, full scale = 1.
const PEAK: f64 = 0.7;
/// Noise of a quiet room and its microphones, rms: -90 dB of full scale.
const FLOOR: f64 = 3e-5;
/// Right is within this: 1 cm of air, in metres over metres a second.
const TOLERANCE_S: f64 = 0.01 / 343.2;
/// The attack is what the overheads hear above this ...
const ATTACK_HZ: f64 = 1_000.0;
/// ... in so many seconds from 2 ms after the stroke on, when it has crossed the air to them.
const ATTACK_S: [f64; 2] = [0.002, 0.012];

type Stem = [Vec<f64>; MICROPHONES];

pub struct Heard {
    kit: SimulatedKit,
    drums: Stem,
    cymbals: Stem,
    /// Gain at which the cymbals are as loud as the snare's attack.
    level: f64,
    truth: Truth,
}

impl Heard {
    /// Plays the kit once; the same for the same settings.
    pub fn new(kit: SimulatedKit) -> Self {
        let mut noise = Noise::new(kit.room);
        let room = Room::random(&mut noise);
        let pattern = Pattern::new(kit, &mut noise);
        let length = (pattern.length_s() * RATE) as usize;
        let empty = || std::array::from_fn(|_| vec![0.0; length]);
        let (mut drums, mut cymbals): (Stem, Stem) = (empty(), empty());
        let renderer = Renderer::new(&room, &mut noise);
        // Cymbals stay where they are: one response each.
        let mut kept: [Option<Responses>; Source::ALL.len()] = Default::default();
        for played in &pattern.played {
            let sound = stroke(played.source, played.stick, &mut noise);
            if played.source.is_cymbal() {
                let responses =
                    kept[played.source as usize].get_or_insert_with(|| renderer.responses(played));
                renderer.add(played, &sound, responses, &mut cymbals);
            } else {
                renderer.add(played, &sound, &renderer.responses(played), &mut drums);
            }
        }
        let snare = attack(&drums, pattern.main(|source| source == Source::Snare));
        let cymbal = attack(&cymbals, pattern.main(Source::is_cymbal));
        Self {
            kit,
            level: (snare / cymbal).sqrt(),
            truth: truth(&room, &pattern),
            drums,
            cymbals,
        }
    }

    /// The take with cymbals so many dB over the snare's attack.
    pub fn mixed(&self, cymbals_db: f64) -> Take {
        let mut noise = Noise::new(self.kit.room ^ 0xF1_00);
        let gain = self.level * 10f64.powf(cymbals_db / 20.0);
        let stems = self.drums.iter().zip(&self.cymbals);
        let mixed = stems.map(|(drums, cymbals)| -> Vec<f64> {
            drums
                .iter()
                .zip(cymbals)
                .map(|(a, b)| a + gain * b)
                .collect()
        });
        let mut channels: Vec<Vec<f64>> = match self.kit.microphones {
            Microphones::Equal => mixed.collect(),
            Microphones::Unequal => mixed
                .map(|channel| Equaliser::random(&mut noise).applied(channel))
                .collect(),
        };
        if self.kit.polarity == Polarity::Inverted {
            channels[1].iter_mut().for_each(|x| *x = -*x);
        }
        let samples = channels.iter().flatten();
        let loudest = samples.fold(0.0f64, |loudest, x| loudest.max(x.abs()));
        let mut finished = channels.iter().map(|channel| -> Vec<f32> {
            let scaled = channel.iter().map(|x| x * PEAK / loudest);
            scaled
                .map(|x| (x + FLOOR * noise.normal()) as f32)
                .collect()
        });
        let mut next = || finished.next().expect("four microphones");
        Take {
            rate: RATE,
            first: next(),
            second: next(),
            kick: next(),
            snare: next(),
            truth: self.truth,
            polarity: self.kit.polarity,
        }
    }
}

/// The mean over the snare's main strokes: each starts where its stick lands.
fn truth(room: &Room, pattern: &Pattern) -> Truth {
    let gaps: Vec<f64> = pattern
        .main(|source| source == Source::Snare)
        .map(|played| room.gap(room.place(played)))
        .collect();
    Truth {
        gap: gaps.iter().sum::<f64>() / gaps.len() as f64,
        tolerance: TOLERANCE_S * RATE,
    }
}

/// Mean power of the strokes' attacks in the two overheads.
fn attack<'a>(stem: &Stem, strokes: impl Iterator<Item = &'a Played>) -> f64 {
    let pole = 1.0 - (-std::f64::consts::TAU * ATTACK_HZ / RATE).exp();
    let bright = [&stem[0], &stem[1]].map(|channel| -> Vec<f64> {
        let mut low = 0.0;
        let high = channel.iter().map(|x| {
            low += pole * (x - low);
            x - low
        });
        high.collect()
    });
    let (mut energy, mut samples) = (0.0, 0);
    for played in strokes {
        let [from, to] = ATTACK_S.map(|later| ((played.at_s + later) * RATE) as usize);
        for channel in &bright {
            energy += channel[from..to].iter().map(|x| x * x).sum::<f64>();
            samples += to - from;
        }
    }
    energy / samples.max(1) as f64
}

/// What each microphone hears of a click, over the frequencies.
type Responses = [Vec<Complex64>; MICROPHONES];

/// Strokes through the responses of their places.
struct Renderer<'a> {
    room: &'a Room,
    forward: Arc<dyn RealToComplex<f64>>,
    inverse: Arc<dyn ComplexToReal<f64>>,
    /// In the order of [`Source`].
    tails: Vec<[Vec<f64>; MICROPHONES]>,
}

impl<'a> Renderer<'a> {
    fn new(room: &'a Room, noise: &mut Noise) -> Self {
        let mut planner = RealFftPlanner::new();
        let mut tails =
            |source| std::array::from_fn(|microphone| room.tail(source, microphone, noise));
        Self {
            room,
            forward: planner.plan_fft_forward(TRANSFORM),
            inverse: planner.plan_fft_inverse(TRANSFORM),
            tails: Source::ALL.into_iter().map(&mut tails).collect(),
        }
    }

    fn spectrum(&self, sound: &[f64]) -> Vec<Complex64> {
        let mut time = vec![0.0; TRANSFORM];
        time[..sound.len()].copy_from_slice(sound);
        let mut spectrum = self.forward.make_output_vec();
        let done = self.forward.process(&mut time, &mut spectrum);
        done.expect("lengths fit");
        spectrum
    }

    fn responses(&self, played: &Played) -> Responses {
        let place = self.room.place(played);
        std::array::from_fn(|microphone| {
            let mut response = self.tails[played.source as usize][microphone].clone();
            self.room.early(place, microphone, &mut response);
            self.spectrum(&response)
        })
    }

    fn add(&self, played: &Played, sound: &[f64], responses: &Responses, stem: &mut Stem) {
        let dry = self.spectrum(sound);
        let start = (played.at_s * RATE) as usize - LEAD;
        for (channel, response) in stem.iter_mut().zip(responses) {
            let bins = dry.iter().zip(response);
            let mut product: Vec<Complex64> = bins.map(|(a, b)| a * b / TRANSFORM as f64).collect();
            (product[0].im, product[TRANSFORM / 2].im) = (0.0, 0.0);
            let mut wet = self.inverse.make_output_vec();
            let done = self.inverse.process(&mut product, &mut wet);
            done.expect("lengths fit");
            let places = channel[start..].iter_mut();
            places.zip(wet).for_each(|(out, x)| *out += x);
        }
    }
}
