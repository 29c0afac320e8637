//! What two channels and the spot share on the hits, bin by bin: correlation and mono sum for any shift between them.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::meters::correlation::Powers;
use crate::meters::mono_sum_loss::{BANDS, BODY_BAND, band_edges_hz, band_hz, mono_sum_loss_db};

/// Room for the bins up to the top of the 5 kHz third octave of 62 ms of audio: never nearer than 8 Hz.
pub const BINS: usize = 720;
/// Lines of each third octave below 100 Hz, where bins lie too far apart.
const LOW_LINES: usize = 3;
/// All of them.
const LOW: usize = LOW_LINES * BODY_BAND;
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

/// The spot as it is added to both channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpotShift {
    /// Against the first, seconds, positive: the spot is made later.
    pub later_s: f64,
    /// It is turned over.
    pub flip: bool,
    /// Its amplitude.
    pub gain: f64,
}

/// How a print is made of the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PrintShift {
    pub pair: PairShift,
    /// `None`: it is not in the print.
    pub spot: Option<SpotShift>,
}

impl From<PairShift> for PrintShift {
    fn from(pair: PairShift) -> Self {
        Self { pair, spot: None }
    }
}

/// One bin of the spectrum, summed over the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
struct Bin {
    first: f32,
    second: f32,
    spot: f32,
    /// Of first times the second's conjugate.
    shared: [f32; 2],
    /// Of first times the spot's conjugate.
    first_spot: [f32; 2],
    /// Of second times the spot's conjugate.
    second_spot: [f32; 2],
}

/// One line as it is kept: powers of first, second and spot, and what each two of them share.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct SharedPower {
    pub powers: [f32; 3],
    /// First with second, first with spot, second with spot: over the root of both powers, real and imaginary part.
    pub shared: [[f32; 2]; 3],
}

/// Places of the two in each product of [`SharedPower::shared`].
const PRODUCTS: [[usize; 2]; 3] = [[0, 1], [0, 2], [1, 2]];

impl Bin {
    fn shared_power(&self) -> SharedPower {
        let powers = [self.first, self.second, self.spot];
        let products = [self.shared, self.first_spot, self.second_spot];
        let shared = std::array::from_fn(|n| {
            let [a, b] = PRODUCTS[n].map(|channel| powers[channel]);
            let both = (a * b).sqrt();
            let part = if both > 0.0 { 1.0 / both } else { 0.0 };
            products[n].map(|x| part * x)
        });
        SharedPower { powers, shared }
    }

    fn of(line: &SharedPower) -> Self {
        let [first, second, spot] = line.powers;
        let product = |n: usize| {
            let [a, b] = PRODUCTS[n].map(|channel| line.powers[channel]);
            line.shared[n].map(|x| (a * b).sqrt() * x)
        };
        Self {
            first,
            second,
            spot,
            shared: product(0),
            first_spot: product(1),
            second_spot: product(2),
        }
    }

    const SILENT: Self = Self {
        first: 0.0,
        second: 0.0,
        spot: 0.0,
        shared: [0.0; 2],
        first_spot: [0.0; 2],
        second_spot: [0.0; 2],
    };
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
    /// Lines of the third octaves below 100 Hz.
    low: [Bin; LOW],
}

impl PairSpectrum {
    /// Nothing heard.
    pub const EMPTY: Self = Self {
        bin_hz: 1.0,
        hits: 0,
        count: 0,
        bins: [Bin::SILENT; BINS],
        low: [Bin::SILENT; LOW],
    };

    /// Hits that are in it.
    pub fn hits(&self) -> u32 {
        self.hits
    }

    /// Width of a bin, Hz.
    pub fn bin_hz(&self) -> f32 {
        self.bin_hz
    }

    /// All lines, those below 100 Hz first, to be kept and read again by [`Self::from_lines`].
    pub fn lines(&self) -> impl Iterator<Item = SharedPower> {
        let bins = self.bins[..self.count as usize].iter();
        self.low.iter().chain(bins).map(|bin| bin.shared_power())
    }

    /// The same again.
    pub fn from_lines(bin_hz: f32, hits: u32, lines: impl Iterator<Item = SharedPower>) -> Self {
        let mut spectrum = Self {
            bin_hz,
            hits,
            ..Self::EMPTY
        };
        let mut lines = lines.map(|line| Bin::of(&line));
        for (low, line) in spectrum.low.iter_mut().zip(lines.by_ref()) {
            *low = line;
        }
        for (bin, line) in spectrum.bins.iter_mut().zip(lines) {
            *bin = line;
            spectrum.count += 1;
        }
        spectrum
    }

    /// Correlation at lag 0 after the shift, over the third octaves from 100 Hz to 5 kHz; 0 for silence.
    pub fn correlation(&self, shift: impl Into<PrintShift>) -> f64 {
        let [lowest, _] = band_edges_hz(BODY_BAND);
        let recorded = f64::from(self.bin_hz) * f64::from(self.count);
        let highest = top_hz().min(recorded);
        self.powers(lowest, highest, &shift.into())
            .map_or(0.0, |powers| powers.correlation())
    }

    /// Loss of the mono sum after the shift in each third octave, dB, 0 down; `None` above what was recorded.
    pub fn losses_db(&self, shift: impl Into<PrintShift>) -> [Option<f64>; BANDS] {
        let shift = shift.into();
        std::array::from_fn(|band| {
            let [from_hz, to_hz] = band_edges_hz(band);
            let powers = match band < BODY_BAND {
                true if self.hits == 0 => return None,
                true => self.low_powers(band, &shift),
                false => self.powers(from_hz, to_hz, &shift)?,
            };
            Some(mono_sum_loss_db(powers))
        })
    }

    fn low_powers(&self, band: usize, shift: &PrintShift) -> Powers {
        let from = LOW_LINES * band;
        let lines = self.low[from..from + LOW_LINES].iter().enumerate();
        let powers = lines.map(|(line, bin)| bin.powers(low_hz(from + line), shift));
        powers.fold(Powers::default(), added)
    }

    fn powers(&self, from_hz: f64, to_hz: f64, shift: &PrintShift) -> Option<Powers> {
        let bin_hz = f64::from(self.bin_hz);
        // A bin that falls on the edge itself belongs to the upper band, whatever the last bit says.
        let [from, to] = [from_hz, to_hz].map(|hz| (hz / bin_hz - 1e-6).ceil() as usize);
        if to > self.count as usize || from >= to {
            return None;
        }
        let bins = (from..to).zip(&self.bins[from..to]);
        let powers = bins.map(|(number, bin)| bin.powers(number as f64 * bin_hz, shift));
        Some(powers.fold(Powers::default(), added))
    }
}

impl Bin {
    /// Of both channels as they leave at a frequency.
    fn powers(&self, hz: f64, shift: &PrintShift) -> Powers {
        let pair = shift.pair;
        let second = if pair.flip { -1.0 } else { 1.0 };
        let shared = second * turned(self.shared, TAU * hz * pair.later_s);
        let mut powers = Powers {
            first: self.first.into(),
            second: self.second.into(),
            shared,
        };
        if let Some(spot) = shift.spot {
            let gain = if spot.flip { -spot.gain } else { spot.gain };
            let of_first = gain * turned(self.first_spot, TAU * hz * spot.later_s);
            let apart_s = spot.later_s - pair.later_s;
            let of_second = gain * second * turned(self.second_spot, TAU * hz * apart_s);
            let own = gain * gain * f64::from(self.spot);
            powers.first += own + 2.0 * of_first;
            powers.second += own + 2.0 * of_second;
            powers.shared += own + of_first + of_second;
        }
        powers
    }
}

/// Real part of a cross power once the second of the two has been made later by a phase.
fn turned([re, im]: [f32; 2], phase: f64) -> f64 {
    f64::from(re) * phase.cos() - f64::from(im) * phase.sin()
}

fn added(a: Powers, b: Powers) -> Powers {
    Powers {
        first: a.first + b.first,
        second: a.second + b.second,
        shared: a.shared + b.shared,
    }
}

/// Frequency of a line below 100 Hz: three in each third octave, a ninth of an octave apart.
fn low_hz(line: usize) -> f64 {
    let off = (line % LOW_LINES) as f64 - 1.0;
    band_hz(line / LOW_LINES) * 10f64.powf(off / 30.0)
}

/// Measures stretches of one length. `new` plans and allocates; `measure` does not.
pub struct PairSpectrumMeter {
    sample_rate: f64,
    fade: Box<[f32]>,
    fft: Arc<dyn RealToComplex<f32>>,
    time: Vec<f32>,
    /// Of first, second and spot.
    spectra: [Vec<Complex<f32>>; 3],
    low: [[Complex<f32>; LOW]; 3],
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
            spectra: std::array::from_fn(|_| fft.make_output_vec()),
            low: [[Complex::default(); LOW]; 3],
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Sums over stretches of first, second and spot; what is shorter is filled up with silence.
    pub fn measure<'a>(&mut self, hits: impl Iterator<Item = [&'a [f32]; 3]>) -> PairSpectrum {
        let bin_hz = self.sample_rate / self.time.len() as f64;
        let top = (top_hz() / bin_hz).ceil() as usize;
        let count = top.min(BINS).min(self.spectra[0].len());
        let mut spectrum = PairSpectrum {
            bin_hz: bin_hz as f32,
            count: count as u32,
            ..PairSpectrum::EMPTY
        };
        for channels in hits {
            for (channel, samples) in channels.into_iter().enumerate() {
                self.transform(channel, samples);
            }
            for (number, bin) in spectrum.bins[..count].iter_mut().enumerate() {
                bin.add(self.spectra.each_ref().map(|spectrum| spectrum[number]));
            }
            for (number, line) in spectrum.low.iter_mut().enumerate() {
                line.add(self.low.map(|lines| lines[number]));
            }
            spectrum.hits += 1;
        }
        spectrum
    }

    fn transform(&mut self, channel: usize, samples: &[f32]) {
        self.time.fill(0.0);
        let faded = samples.iter().zip(&self.fade);
        for (time, (sample, fade)) in self.time.iter_mut().zip(faded) {
            *time = sample * fade;
        }
        for (number, line) in self.low[channel].iter_mut().enumerate() {
            *line = at_frequency(&self.time, low_hz(number) / self.sample_rate);
        }
        self.fft
            .process_with_scratch(
                &mut self.time,
                &mut self.spectra[channel],
                &mut self.scratch,
            )
            .expect("buffers made by the plan itself");
    }
}

/// One line of the Fourier transform; the frequency in turns a sample.
fn at_frequency(samples: &[f32], turns: f64) -> Complex<f32> {
    let step = Complex::from_polar(1.0, -TAU * turns);
    let mut turn = Complex::new(1.0, 0.0);
    let mut sum: Complex<f64> = Complex::default();
    for sample in samples {
        sum += turn * f64::from(*sample);
        turn *= step;
    }
    Complex::new(sum.re as f32, sum.im as f32)
}

impl Bin {
    fn add(&mut self, [first, second, spot]: [Complex<f32>; 3]) {
        let product = |sum: &mut [f32; 2], a: Complex<f32>, b: Complex<f32>| {
            let shared = a * b.conj();
            sum[0] += shared.re;
            sum[1] += shared.im;
        };
        self.first += first.norm_sqr();
        self.second += second.norm_sqr();
        self.spot += spot.norm_sqr();
        product(&mut self.shared, first, second);
        product(&mut self.first_spot, first, spot);
        product(&mut self.second_spot, second, spot);
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
        meter.measure(std::iter::once([&drum[samples..], &drum[..LENGTH], &[]]))
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
        assert!(before[15].unwrap() < -12.0, "1 kHz: {:?}", before[15]);
        assert!(before[5].unwrap() > -1.0, "100 Hz: {:?}", before[5]);
        assert!(
            after.iter().all(|loss| loss.unwrap() > -0.2),
            "after: {after:?}"
        );
    }

    #[test]
    fn bands_above_the_recording_are_left_out() {
        let drum = noise(496, 2);
        let spectrum = PairSpectrumMeter::new(8_000.0, 496).measure(std::iter::once([
            &drum[..],
            &drum[..],
            &[],
        ]));
        let losses = spectrum.losses_db(PairShift::default());
        assert!(losses[20].is_some() && losses[22].is_none(), "{losses:?}");
    }

    /// Noise, the same later, and a spot, made into a print in time and looked at as it is, or by its shifts.
    #[test]
    fn the_print_by_its_shifts_is_the_print_itself() {
        let room = 400;
        let (drum, shell) = (noise(LENGTH + room, 3), noise(LENGTH + room, 4));
        let at = |channel: &[f32], late: usize| channel[room - late..room - late + LENGTH].to_vec();
        let (first, second, spot) = (at(&drum, 100), at(&drum, 130), at(&shell, 90));
        let shift = PrintShift {
            pair: earlier(30.0),
            spot: Some(SpotShift {
                later_s: 12.0 / RATE,
                flip: true,
                gain: 0.7,
            }),
        };
        let print = |channel: &[f32]| -> Vec<f32> {
            let spot = at(&shell, 102);
            channel
                .iter()
                .zip(spot)
                .map(|(x, spot)| x - 0.7 * spot)
                .collect()
        };
        let made = [print(&first), print(&at(&drum, 100))];
        let mut meter = PairSpectrumMeter::new(RATE, LENGTH);
        let whole = meter.measure(std::iter::once([&made[0][..], &made[1], &[]]));
        let parts = meter.measure(std::iter::once([&first[..], &second, &spot]));
        let want = whole.losses_db(PairShift::default());
        let got = parts.losses_db(shift);
        for band in 0..BANDS {
            let (got, want) = (got[band].unwrap(), want[band].unwrap());
            assert!(
                (got - want).abs() < 0.5,
                "band {band}: {got} dB instead of {want}"
            );
        }
        let [got, want] = [
            parts.correlation(shift),
            whole.correlation(PairShift::default()),
        ];
        assert!((got - want).abs() < 0.01, "{got} instead of {want}");
    }

    #[test]
    fn a_kick_that_cancels_shows_below_100_hz() {
        let tone = |sign: f64| -> Vec<f32> {
            let sample = |n: usize| sign * 0.5 * (TAU * 50.0 * n as f64 / RATE).sin();
            (0..LENGTH).map(|n| sample(n) as f32).collect()
        };
        let mut meter = PairSpectrumMeter::new(RATE, LENGTH);
        let (first, second) = (tone(1.0), tone(-1.0));
        let losses = meter
            .measure(std::iter::once([&first[..], &second, &[]]))
            .losses_db(PairShift::default());
        assert!(losses[2].unwrap() < -40.0, "50 Hz: {losses:?}");
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
