//! What two channels and the spot share on the hits, bin by bin: correlation and mono sum for any shift between them.
//!
//! Promises plain numbers of a fixed size that any shift can be tried on. Called by the analysis, which measures, and by the window,
//! which tries shifts; calls `correlation` and `mono_sum_loss`.

mod line;
mod meter;
mod shift;

pub use line::SharedPower;
pub use meter::PairSpectrumMeter;
pub use shift::{PairShift, PrintShift, SpotShift};

use crate::meters::correlation::Powers;
use crate::meters::mono_sum_loss::{BANDS, BODY_BAND, band_edges_hz, band_hz, mono_sum_loss_db};
use line::Bin;

/// Room for the bins up to the top of the 5 kHz third octave of 62 ms of audio: never nearer than 8 Hz.
pub const BINS: usize = 720;
/// Lines of each third octave below 100 Hz, where bins lie too far apart.
const LOW_LINES: usize = 3;
/// All of them.
const LOW: usize = LOW_LINES * BODY_BAND;
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

/// Upper edge of the highest third octave.
fn top_hz() -> f64 {
    let [_, top_hz] = band_edges_hz(BANDS - 1);
    top_hz
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;
    use std::f64::consts::TAU;

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
