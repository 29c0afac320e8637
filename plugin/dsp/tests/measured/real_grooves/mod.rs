//! Grooves of real strokes with a known gap: one kit through a near and a far pair, no stroke twice running.
//!
//! Promises the same take for the same settings and seed. Called by the tables and the properties; calls the recordings and what
//! all measured tests share.

mod assembly;

use plumbline_dsp::channels::Inputs;

use crate::measure::measure;
use crate::noise::Noise;
use crate::support::assert_near;
use crate::take::Truth;

use assembly::PEAK;
pub use assembly::strokes;

/// Samples a second of every groove.
pub const RATE: f64 = crate::recordings::RATE;
/// What is played besides kick, snare and toms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Kick, snare with soft ghosts, toms every fourth bar.
    Plain,
    /// Closed hats in eighths.
    Hats,
    /// Half-open hats in eighths.
    HalfOpen,
    /// Open hats in quarters.
    Open,
}

impl Style {
    pub const ALL: [Self; 4] = [Self::Plain, Self::Hats, Self::HalfOpen, Self::Open];
}

/// Where the two overheads stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pair {
    /// `oh_mic` and `side_mic`.
    Near,
    /// `front_mic` and `wndw_mic`.
    Far,
}

impl Pair {
    pub const ALL: [Self; 2] = [Self::Near, Self::Far];

    fn microphones(self) -> [Microphone; 2] {
        match self {
            Self::Near => [Microphone::Overhead, Microphone::Side],
            Self::Far => [Microphone::Front, Microphone::Window],
        }
    }

    /// Gap of a drum in samples and what twelve independent pickers agree to (recordings/README.md), where they do.
    pub fn truth(self, drum: Drum) -> Option<Truth> {
        let (gap, tolerance) = match (self, drum) {
            (Self::Near, Drum::Snare) => (1.0, 1.5),
            (Self::Far, Drum::Snare) => (-1.2, 1.0),
            (Self::Near, Drum::Kick) => (-32.6, 5.0),
            _ => return None,
        };
        Some(Truth { gap, tolerance })
    }
}

/// The second overhead's cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cable {
    AsRecorded,
    Reversed,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drum {
    Kick,
    Snare,
    ClosedHat,
    HalfOpenHat,
    OpenHat,
    HighTom,
    LowTom,
}

impl Drum {
    pub const ALL: [Self; 7] = [
        Self::Kick,
        Self::Snare,
        Self::ClosedHat,
        Self::HalfOpenHat,
        Self::OpenHat,
        Self::HighTom,
        Self::LowTom,
    ];

    /// First letters of its files' names.
    fn files(self) -> &'static str {
        match self {
            Self::Kick => "ks_",
            Self::Snare => "sc_",
            Self::ClosedHat => "ht_",
            Self::HalfOpenHat => "hh_",
            Self::OpenHat => "ho_",
            Self::HighTom => "th_",
            Self::LowTom => "tl_",
        }
    }
}

#[derive(Clone, Copy)]
enum Microphone {
    Overhead,
    Side,
    Front,
    Window,
    Kick,
    Snare,
}

/// In the order of [`Microphone`].
const FOLDERS: [&str; 6] = [
    "oh_mic",
    "side_mic",
    "front_mic",
    "wndw_mic",
    "kick_mic",
    "snare_mic",
];

/// What is played, and through what it is heard.
#[derive(Clone, Copy, Debug)]
pub struct GrooveSettings {
    pub style: Style,
    pub pair: Pair,
    /// Gain of the hats: 1 = as recorded, 2 = +6 dB.
    pub cymbals: f64,
    pub seed: u64,
    pub bars: usize,
    pub second: Cable,
    /// Drums that are heard; the places of the strokes do not depend on it.
    pub drums: &'static [Drum],
}

impl Default for GrooveSettings {
    fn default() -> Self {
        Self {
            style: Style::Plain,
            pair: Pair::Near,
            cymbals: 1.0,
            seed: 1_000,
            bars: 8,
            second: Cable::AsRecorded,
            drums: &Drum::ALL,
        }
    }
}

impl GrooveSettings {
    /// The snare's truth, or the kick's where no snare is heard. Cymbals above +6 dB are allowed a wider tolerance.
    pub fn truth(&self) -> Truth {
        let heard = |drum: &Drum| self.drums.contains(drum);
        let drum = [Drum::Snare, Drum::Kick].into_iter().find(heard);
        let truth = drum.and_then(|drum| self.pair.truth(drum));
        let mut truth = truth.expect("a drum whose gap is known");
        if self.cymbals > 2.0 && heard(&Drum::Snare) {
            truth.tolerance = match self.pair {
                Pair::Near => 2.5,
                Pair::Far => 1.5,
            };
        }
        truth
    }

    /// Every cell, style and seed has strokes of its own; the same strokes at every gain of the cymbals.
    fn noise(&self) -> Noise {
        Noise::new(self.seed << 8 | (self.style as u64) << 4 | self.pair as u64)
    }
}

/// The generator's own promises: finite, at the peak, the same for the same seed, another for another; a reversed cable
/// and a subset of the drums change nothing else.
#[test]
fn grooves_are_repeatable() {
    let Some(strokes) = strokes() else { return };
    let peak = |channel: &[f32]| channel.iter().fold(0.0f32, |a, x| a.max(x.abs()));
    for (style, pair) in cells() {
        let settings = GrooveSettings {
            style,
            pair,
            ..GrooveSettings::default()
        };
        let groove = strokes.groove(&settings);
        let channels = [&groove.first, &groove.second, &groove.kick, &groove.snare];
        let loudest = channels.map(|c| peak(c)).into_iter().fold(0.0, f32::max);
        assert!((loudest - PEAK as f32).abs() < 1e-6, "peak {loudest}");
        assert!(channels.iter().all(|c| c.iter().all(|x| x.is_finite())));
        assert_eq!(strokes.groove(&settings).first, groove.first);
        let other = GrooveSettings {
            seed: 1_001,
            ..settings
        };
        assert_ne!(strokes.groove(&other).first, groove.first);
        let reversed = GrooveSettings {
            second: Cable::Reversed,
            ..settings
        };
        let reversed = strokes.groove(&reversed);
        assert_eq!(reversed.first, groove.first);
        let mut pairs = reversed.second.iter().zip(&groove.second);
        assert!(pairs.all(|(a, b)| *a == -b));
    }
}

/// A kick alone is heard in its own microphone, and its truth is the kick's.
#[test]
fn a_subset_leaves_the_others_out() {
    let Some(strokes) = strokes() else { return };
    let kick = strokes.groove(&GrooveSettings {
        drums: &[Drum::Kick],
        ..GrooveSettings::default()
    });
    let energy = |channel: &[f32]| channel.iter().map(|x| x * x).sum::<f32>();
    assert_eq!(kick.truth.gap, -32.6);
    assert!(energy(&kick.snare) < energy(&kick.kick));
    let [first, second, spot] = [&kick.first, &kick.second, &kick.kick];
    let answer = measure([first, second, spot], Inputs::PairAndSpot, RATE);
    let answer = answer.expect("a verdict");
    println!("{answer:?}");
    assert_near(
        "kick alone",
        answer.gap_samples,
        kick.truth.gap,
        kick.truth.tolerance,
    );
}

/// Every style through every pair.
pub fn cells() -> impl Iterator<Item = (Style, Pair)> {
    let pairs = |style| Pair::ALL.map(|pair| (style, pair));
    Style::ALL.into_iter().flat_map(pairs)
}
