//! Lengths around a hit: what is heard before and after it, where its fronts may lie, where one is picked.

use crate::channels::{CHANNELS, Inputs};
use crate::measure::hit::onset::Search;

/// Heard before a hit: the noise it stands in.
const BEFORE_S: f64 = 0.026;
/// A front may come this long before its hit in the spot, when a host delays the spot by mistake ...
const EARLY_S: f64 = 0.006;
/// ... and this long after: 30 ms is 10 m of air.
const LATE_S: f64 = 0.030;
/// In the spot itself, and in a pair whose own sum found the hit, the front is where the hit was found, give or take.
pub(crate) const NEAR_S: f64 = 0.003;
/// Heard after a hit: the window. Latest front and 20 ms of its body, or 40 ms of body after one within 10 ms.
const AFTER_S: f64 = 0.050;
/// Kept before the hit.
const KEPT_BEFORE_S: f64 = 0.012;
/// The front is picked from half a millisecond before where the voice's hits agree that it lies ...
const LOOK_BEFORE_S: f64 = 0.0005;
/// ... against what was heard in the 2.5 ms before that, hats included ...
const NOISE_S: f64 = 0.0025;
/// ... and against the highest of the 10 ms after, which is the drum itself.
const LOOK_AFTER_S: f64 = 0.010;
/// A first sign that comes later than the rise of a soft front has been covered by another sound.
const LOOK_LATEST_S: f64 = 0.000_85;
/// Hits nearer than this to the one before ...
const CROWDED_BEFORE_S: f64 = 0.060;
/// Where to look in the audio of the reference take, in samples.
pub(crate) type Looks = [[usize; 2]; CHANNELS];

/// Lengths in samples of the working rate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Geometry {
    pub before: usize,
    pub after: usize,
    pub kept_before: usize,
    pub crowded: u64,
    pub looks: Looks,
}

impl Geometry {
    pub(crate) fn new(rate: f64, inputs: Inputs) -> Self {
        let samples = |seconds: f64| (seconds * rate).round() as usize;
        let before = samples(BEFORE_S);
        let kept = samples(KEPT_BEFORE_S);
        let search = |early: f64, late: f64| [kept - samples(early), kept + samples(late)];
        Self {
            before,
            after: samples(AFTER_S),
            kept_before: samples(KEPT_BEFORE_S),
            crowded: samples(CROWDED_BEFORE_S) as u64,
            looks: match inputs {
                Inputs::Pair => [search(NEAR_S, LATE_S / 3.0); CHANNELS],
                _ => {
                    let overhead = search(EARLY_S, LATE_S);
                    [overhead, overhead, search(NEAR_S, NEAR_S)]
                }
            },
        }
    }
}

/// Where to look for a front that is expected at `place`, in samples.
pub(crate) fn search(place: f64, rate: f64, length: usize) -> Search {
    let at = |seconds: f64| ((place + seconds * rate).max(0.0) as usize).min(length);
    Search {
        noise_from: at(-LOOK_BEFORE_S - NOISE_S),
        from: at(-LOOK_BEFORE_S),
        latest: at(LOOK_LATEST_S),
        to: at(LOOK_AFTER_S),
    }
}
