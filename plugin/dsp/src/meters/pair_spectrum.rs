//! What two channels share on the hits, bin by bin: their correlation and mono sum for any shift between them.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::meters::correlation::Powers;
use crate::meters::mono_sum_loss::{BANDS, band_edges_hz, mono_sum_loss_db};

/// Room for the bins up to the top of the 5 kHz third octave of 62 ms of audio: never nearer than 8 Hz.
pub const BINS: usize = 720;
/// Seconds over which a stretch fades in and out: short against the drum, long against the wavefront.
const FADE_S: f64 = 0.0015;

/// How the second channel is moved against the first before they are compared.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PairShift {
    /// Seconds, positive: the second is made later.
    pub later_s: f64,
    /// The second is turned over.
    pub flip: bool,
}

/// One bin of the spectrum, summed over the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
struct Bin {
    first: f32,
    second: f32,
    /// Of first times the second's conjugate.
    shared: [f32; 2],
}

/// Powers and cross-power of the hits up to the top of the 5 kHz third octave. Plain numbers of a fixed size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairSpectrum {
    bin_hz: f32,
    /// Hits that are in it.
    hits: u32,
    /// Lines that are filled.
    count: u32,
    bins: [Bin; BINS],
}

impl PairSpectrum {
    /// Nothing heard.
    pub const EMPTY: Self = Self {
        bin_hz: 1.0,
        hits: 0,
        count: 0,
        bins: [Bin {
            first: 0.0,
            second: 0.0,
            shared: [0.0; 2],
        }; BINS],
    };

    /// Hits that are in it.
    pub fn hits(&self) -> u32 {
        self.hits
    }

    /// Correlation at lag 0 after the shift, over the third octaves from 100 Hz to 5 kHz; 0 for silence.
    pub fn correlation(&self, shift: PairShift) -> f64 {
        let [lowest, _] = band_edges_hz(0);
        let recorded = f64::from(self.bin_hz) * f64::from(self.count);
        let highest = top_hz().min(recorded);
        self.powers(lowest, highest, shift)
            .map_or(0.0, |powers| powers.correlation())
    }

    /// Loss of the mono sum after the shift in each third octave, dB, 0 down; `None` above what was recorded.
    pub fn losses_db(&self, shift: PairShift) -> [Option<f64>; BANDS] {
        std::array::from_fn(|band| {
            let [from_hz, to_hz] = band_edges_hz(band);
            self.powers(from_hz, to_hz, shift).map(mono_sum_loss_db)
        })
    }

    fn powers(&self, from_hz: f64, to_hz: f64, shift: PairShift) -> Option<Powers> {
        let bin_hz = f64::from(self.bin_hz);
        // A bin that falls on the edge itself belongs to the upper band, whatever the last bit says.
        let [from, to] = [from_hz, to_hz].map(|hz| (hz / bin_hz - 1e-6).ceil() as usize);
        if to > self.count as usize || from >= to {
            return None;
        }
        let mut powers = Powers::default();
        for (number, bin) in (from..to).zip(&self.bins[from..to]) {
            let turn = TAU * number as f64 * bin_hz * shift.later_s;
            let [re, im] = bin.shared.map(f64::from);
            powers.first += f64::from(bin.first);
            powers.second += f64::from(bin.second);
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
        let bin_hz = self.sample_rate / self.time.len() as f64;
        let top = (top_hz() / bin_hz).ceil() as usize;
        let count = top.min(BINS).min(self.first.len());
        let mut spectrum = PairSpectrum {
            bin_hz: bin_hz as f32,
            count: count as u32,
            ..PairSpectrum::EMPTY
        };
        for (first, second) in pairs {
            self.transform_both(first, second);
            let both = self.first.iter().zip(&self.second);
            for (bin, (a, b)) in spectrum.bins[..count].iter_mut().zip(both) {
                bin.add(*a, *b);
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

impl Bin {
    fn add(&mut self, first: Complex<f32>, second: Complex<f32>) {
        let shared = first * second.conj();
        self.first += first.norm_sqr();
        self.second += second.norm_sqr();
        self.shared[0] += shared.re;
        self.shared[1] += shared.im;
    }
}

/// Upper edge of the highest third octave.
fn top_hz() -> f64 {
    let [_, top_hz] = band_edges_hz(BANDS - 1);
    top_hz
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
    use crate::math::noise::noise;

    const RATE: f64 = 48_000.0;
    const LENGTH: usize = 2976;

    fn late_by(samples: usize) -> PairSpectrum {
        let drum = noise(LENGTH + samples, 1);
        let mut meter = PairSpectrumMeter::new(RATE, LENGTH);
        meter.measure(std::iter::once((&drum[samples..], &drum[..LENGTH])))
    }

    fn earlier(samples: f64) -> PairShift {
        PairShift {
            later_s: -samples / RATE,
            flip: false,
        }
    }

    #[test]
    fn the_right_shift_brings_a_late_channel_back() {
        let spectrum = late_by(24);
        assert!(spectrum.correlation(PairShift::default()).abs() < 0.3);
        assert!(spectrum.correlation(earlier(24.0)) > 0.97);
        let turned = PairShift {
            flip: true,
            ..earlier(24.0)
        };
        assert!(spectrum.correlation(turned) < -0.97);
    }

    #[test]
    fn half_a_period_late_loses_its_own_third_octave_and_not_the_low_ones() {
        // 24 samples are half a period of 1 kHz.
        let spectrum = late_by(24);
        let before = spectrum.losses_db(PairShift::default());
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
        let drum = noise(496, 2);
        let spectrum =
            PairSpectrumMeter::new(8_000.0, 496).measure(std::iter::once((&drum[..], &drum[..])));
        let losses = spectrum.losses_db(PairShift::default());
        assert!(losses[15].is_some() && losses[17].is_none(), "{losses:?}");
    }

    #[test]
    fn nothing_heard_says_nothing() {
        assert_eq!(PairSpectrum::EMPTY.correlation(PairShift::default()), 0.0);
        assert_eq!(
            PairSpectrum::EMPTY.losses_db(PairShift::default()),
            [None; BANDS]
        );
    }
}
