//! What two channels share on the hits, line by line: their correlation and mono sum for any shift between them.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::meters::correlation::Powers;
use crate::meters::mono_sum_loss::{BANDS, band_hz, mono_sum_loss_db};

/// Room for the lines up to the top of the 5 kHz third octave of 62 ms of audio: never nearer than 8 Hz.
pub const LINES: usize = 720;
/// Half a third octave, as a ratio (IEC 61260-1:2014, 5.5).
const HALF_BAND: f64 = 1.122_018_454_301_963_3;
/// Seconds over which a stretch fades in and out: short against the drum, long against the wavefront.
const FADE_S: f64 = 0.0015;

/// How the second channel is moved against the first before they are compared.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Shift {
    /// Seconds, positive: the second is made later.
    pub later_s: f64,
    /// The second is turned over.
    pub flip: bool,
}

/// One line of the spectrum, summed over the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
struct Line {
    first: f32,
    second: f32,
    /// Of first times the second's conjugate.
    shared: [f32; 2],
}

/// Powers and cross-power of the hits up to the top of the 5 kHz third octave. Plain numbers of a fixed size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairSpectrum {
    line_hz: f32,
    /// Hits that are in it.
    hits: u32,
    /// Lines that are filled.
    count: u32,
    lines: [Line; LINES],
}

impl PairSpectrum {
    /// Nothing heard.
    pub const EMPTY: Self = Self {
        line_hz: 1.0,
        hits: 0,
        count: 0,
        lines: [Line {
            first: 0.0,
            second: 0.0,
            shared: [0.0; 2],
        }; LINES],
    };

    /// Hits that are in it.
    pub fn hits(&self) -> u32 {
        self.hits
    }

    /// Correlation at lag 0 after the shift, over the third octaves from 100 Hz to 5 kHz; 0 for silence.
    pub fn correlation(&self, shift: Shift) -> f64 {
        let lowest = band_hz(0) / HALF_BAND;
        let recorded = f64::from(self.line_hz) * f64::from(self.count);
        let highest = (band_hz(BANDS - 1) * HALF_BAND).min(recorded);
        self.powers(lowest, highest, shift)
            .map_or(0.0, |powers| powers.correlation())
    }

    /// Loss of the mono sum after the shift in each third octave, dB, 0 down; `None` above what was recorded.
    pub fn losses_db(&self, shift: Shift) -> [Option<f64>; BANDS] {
        std::array::from_fn(|band| {
            let middle = band_hz(band);
            self.powers(middle / HALF_BAND, middle * HALF_BAND, shift)
                .map(mono_sum_loss_db)
        })
    }

    fn powers(&self, from_hz: f64, to_hz: f64, shift: Shift) -> Option<Powers> {
        let line_hz = f64::from(self.line_hz);
        // A line that falls on the edge itself belongs to the upper band, whatever the last bit says.
        let [from, to] = [from_hz, to_hz].map(|hz| (hz / line_hz - 1e-6).ceil() as usize);
        if to > self.count as usize || from >= to {
            return None;
        }
        let mut powers = Powers::default();
        for (number, line) in (from..to).zip(&self.lines[from..to]) {
            let turn = TAU * number as f64 * line_hz * shift.later_s;
            let [re, im] = line.shared.map(f64::from);
            powers.first += f64::from(line.first);
            powers.second += f64::from(line.second);
            powers.shared += re * turn.cos() - im * turn.sin();
        }
        if shift.flip {
            powers.shared = -powers.shared;
        }
        Some(powers)
    }
}

/// Measures pairs of stretches of one length. `new` plans and allocates; `measure` does not.
pub struct PairSpectrumMeter {
    sample_rate: f64,
    fade: Box<[f32]>,
    fft: Arc<dyn RealToComplex<f32>>,
    time: Vec<f32>,
    first: Vec<Complex<f32>>,
    second: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
}

impl PairSpectrumMeter {
    /// For stretches of `length` samples.
    pub fn new(sample_rate: f64, length: usize) -> Self {
        let fft = RealFftPlanner::new().plan_fft_forward(length.next_power_of_two());
        Self {
            sample_rate,
            fade: fade(length, FADE_S * sample_rate),
            time: fft.make_input_vec(),
            first: fft.make_output_vec(),
            second: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Sums over pairs of stretches, first and second of each; what is shorter is filled up with silence.
    pub fn measure<'a>(
        &mut self,
        pairs: impl Iterator<Item = (&'a [f32], &'a [f32])>,
    ) -> PairSpectrum {
        let line_hz = self.sample_rate / self.time.len() as f64;
        let top = (band_hz(BANDS - 1) * HALF_BAND / line_hz).ceil() as usize;
        let count = top.min(LINES).min(self.first.len());
        let mut spectrum = PairSpectrum {
            line_hz: line_hz as f32,
            count: count as u32,
            ..PairSpectrum::EMPTY
        };
        for (first, second) in pairs {
            self.transform_both(first, second);
            let both = self.first.iter().zip(&self.second);
            for (line, (a, b)) in spectrum.lines[..count].iter_mut().zip(both) {
                line.add(*a, *b);
            }
            spectrum.hits += 1;
        }
        spectrum
    }

    fn transform_both(&mut self, first: &[f32], second: &[f32]) {
        for (samples, spectrum) in [(first, &mut self.first), (second, &mut self.second)] {
            self.time.fill(0.0);
            let faded = samples.iter().zip(&self.fade);
            for (time, (sample, fade)) in self.time.iter_mut().zip(faded) {
                *time = sample * fade;
            }
            self.fft
                .process_with_scratch(&mut self.time, spectrum, &mut self.scratch)
                .expect("buffers made by the plan itself");
        }
    }
}

impl Line {
    fn add(&mut self, first: Complex<f32>, second: Complex<f32>) {
        let shared = first * second.conj();
        self.first += first.norm_sqr();
        self.second += second.norm_sqr();
        self.shared[0] += shared.re;
        self.shared[1] += shared.im;
    }
}

/// Raised-cosine ends of `edge` samples.
fn fade(length: usize, edge: f64) -> Box<[f32]> {
    (0..length)
        .map(|n| {
            let from_end = n.min(length - 1 - n) as f64 + 0.5;
            (0.5 - 0.5 * (PI * (from_end / edge).min(1.0)).cos()) as f32
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;
    const LENGTH: usize = 2976;

    fn noise(length: usize) -> Vec<f32> {
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        let mut next = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 40) as f32 / (1u64 << 24) as f32 - 0.5
        };
        (0..length).map(|_| next()).collect()
    }

    fn late_by(samples: usize) -> PairSpectrum {
        let drum = noise(LENGTH + samples);
        let mut meter = PairSpectrumMeter::new(RATE, LENGTH);
        meter.measure(std::iter::once((&drum[samples..], &drum[..LENGTH])))
    }

    fn earlier(samples: f64) -> Shift {
        Shift {
            later_s: -samples / RATE,
            flip: false,
        }
    }

    #[test]
    fn the_right_shift_brings_a_late_channel_back() {
        let spectrum = late_by(24);
        assert!(spectrum.correlation(Shift::default()).abs() < 0.3);
        assert!(spectrum.correlation(earlier(24.0)) > 0.97);
        let turned = Shift {
            flip: true,
            ..earlier(24.0)
        };
        assert!(spectrum.correlation(turned) < -0.97);
    }

    #[test]
    fn half_a_period_late_loses_its_own_third_octave_and_not_the_low_ones() {
        // 24 samples are half a period of 1 kHz.
        let spectrum = late_by(24);
        let before = spectrum.losses_db(Shift::default());
        let after = spectrum.losses_db(earlier(24.0));
        assert!(before[10].unwrap() < -12.0, "1 kHz: {:?}", before[10]);
        assert!(before[0].unwrap() > -1.0, "100 Hz: {:?}", before[0]);
        assert!(
            after.iter().all(|loss| loss.unwrap() > -0.2),
            "after: {after:?}"
        );
    }

    #[test]
    fn bands_above_the_recording_are_left_out() {
        let drum = noise(496);
        let spectrum =
            PairSpectrumMeter::new(8_000.0, 496).measure(std::iter::once((&drum[..], &drum[..])));
        let losses = spectrum.losses_db(Shift::default());
        assert!(losses[15].is_some() && losses[17].is_none(), "{losses:?}");
    }

    #[test]
    fn nothing_heard_says_nothing() {
        assert_eq!(PairSpectrum::EMPTY.correlation(Shift::default()), 0.0);
        assert_eq!(
            PairSpectrum::EMPTY.losses_db(Shift::default()),
            [None; BANDS]
        );
    }
}
