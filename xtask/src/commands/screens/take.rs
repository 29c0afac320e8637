//! What the pictures' sessions play: the demo's tracks, and what can be wrong with them.

use crate::window_session::Tracks;

/// What is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Take {
    Demo,
    /// Without the snare's own microphone.
    NoSpot,
    /// With the kick's microphone instead of the snare's.
    Kick,
    /// Silence in every channel.
    Silence,
    /// 20 dB too loud for the recorder.
    Clipped,
    /// The phase of the second overhead is turned by a quarter.
    Turned,
}

impl Take {
    /// Made from the demo's.
    pub fn of(self, demo: &Tracks) -> Tracks {
        let mut tracks = demo.clone();
        match self {
            Self::Demo => {}
            Self::NoSpot => tracks.spot.clear(),
            Self::Kick => tracks.spot = Tracks::kick(),
            Self::Silence => each(&mut tracks, |_| 0.0),
            Self::Clipped => each(&mut tracks, |x| (10.0 * x).clamp(-1.0, 1.0)),
            Self::Turned => tracks.overheads[1] = turned(&tracks.overheads[1]),
        }
        tracks
    }
}

fn each(tracks: &mut Tracks, change: impl Fn(f32) -> f32) {
    let Tracks { overheads, spot } = tracks;
    let channels = overheads.iter_mut().chain([spot]);
    channels
        .flatten()
        .for_each(|sample| *sample = change(*sample));
}

/// Every frequency a quarter turn later, by a Hilbert transformer: 2 / (pi n) at odd n, 8 ms to either side.
fn turned(channel: &[f32]) -> Vec<f32> {
    const SIDE: usize = 384;
    let taps = (1..SIDE).step_by(2).map(|n| {
        let taper = 0.5 + 0.5 * (std::f32::consts::PI * n as f32 / SIDE as f32).cos();
        (n, taper * 2.0 / (std::f32::consts::PI * n as f32))
    });
    let taps: Vec<(usize, f32)> = taps.collect();
    let at = |i: Option<usize>| i.and_then(|i| channel.get(i)).copied().unwrap_or(0.0);
    let sample = |i: usize| {
        taps.iter()
            .map(|(n, tap)| tap * (at(i.checked_sub(*n)) - at(i.checked_add(*n))))
            .sum()
    };
    (0..channel.len()).map(sample).collect()
}
