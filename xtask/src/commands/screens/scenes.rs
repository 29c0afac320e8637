//! The pictures of the window: the take, controls, paper and size of each.

use crate::window_session::Tracks;

/// One picture.
pub struct Scene {
    /// Of the file.
    pub name: &'static str,
    pub tracks: Take,
    /// Parameters and what is typed into them.
    pub choices: &'static [(&'static str, &'static str)],
    pub paper: &'static str,
    /// Points.
    pub size: (u32, u32),
    /// Where the mouse clicks before it plays, points.
    pub clicks: &'static [(i16, i16)],
    pub pace: Pace,
}

/// How the take is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Through the four bars in a hurry.
    Measuring,
    /// For some seconds as it is heard.
    Playing,
}

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

const USUAL: (u32, u32) = (1_080, 680);
const SMALL: (u32, u32) = (720, 460);
const LARGE: (u32, u32) = (1_800, 1_200);

/// The tab of the kit map in a small window, and of the lag curve in a usual one.
const KIT: (i16, i16) = (92, 119);
const LAG: (i16, i16) = (538, 419);
/// The button of the recall page.
const RECALL: (i16, i16) = (350, 27);
/// The button that asks for four strokes, in a usual window.
const FOUR_HITS: (i16, i16) = (185, 652);

/// The button of the presets, in a window of the usual size.
const PRESETS: (i16, i16) = (1_027, 654);
/// A pass through a bar of the demo.
const NULL_AT: &[(&str, &str)] = &[
    ("mode", "Sweep"),
    ("motion", "Pass"),
    ("length", "2 bars"),
    ("null_at", "3"),
    ("ease", "0.5"),
];

/// The button of the placement digits.
const PLACEMENT: (i16, i16) = (272, 27);

/// The tab of the tape's controls, in a window of the usual size, and in the smallest of Sweep and of Align.
const TAPE: (i16, i16) = (1_038, 600);
const TAPE_SMALL: (i16, i16) = (678, 380);
const TAPE_SMALL_ALIGN: (i16, i16) = (678, 330);

const MEASURE: (&str, &str) = ("measure", "On");
const ALIGN: &[(&str, &str)] = &[MEASURE];
const KICK: &[(&str, &str)] = &[MEASURE, ("match", "Kit"), ("spot_level", "0 dB")];
const CYCLE: &[(&str, &str)] = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Cycle"),
    ("range", "2 ms"),
    ("length", "2 bars"),
];
const DRAG: &[(&str, &str)] = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Drag"),
    ("drag", "20 %"),
];

const PRINT: &[(&str, &str)] = &[MEASURE, ("print", "On"), ("tape_level", "6 dB")];
const SWEEP_PRINT: &[(&str, &str)] = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Cycle"),
    ("range", "2 ms"),
    ("length", "2 bars"),
    ("print", "On"),
    ("tape_level", "9 dB"),
    ("tape_speed", "19 cm/s"),
];

const fn scene(name: &'static str) -> Scene {
    Scene {
        name,
        tracks: Take::Demo,
        choices: ALIGN,
        paper: "light",
        size: USUAL,
        clicks: &[],
        pace: Pace::Measuring,
    }
}

const fn sweep(name: &'static str) -> Scene {
    Scene {
        choices: CYCLE,
        pace: Pace::Playing,
        ..scene(name)
    }
}

/// The tape's drawings on the Align page.
const fn align_print(name: &'static str) -> Scene {
    Scene {
        choices: PRINT,
        clicks: &[TAPE],
        ..scene(name)
    }
}

/// The same on the Sweep page.
const fn sweep_print(name: &'static str) -> Scene {
    Scene {
        choices: SWEEP_PRINT,
        pace: Pace::Playing,
        ..align_print(name)
    }
}

/// All of them.
pub const SCENES: [Scene; 35] = [
    scene("align-light"),
    Scene {
        paper: "dark",
        ..scene("align-dark")
    },
    Scene {
        size: SMALL,
        ..scene("align-small")
    },
    Scene {
        size: LARGE,
        ..scene("align-large")
    },
    Scene {
        tracks: Take::Silence,
        ..scene("align-no-hits")
    },
    Scene {
        tracks: Take::NoSpot,
        ..scene("align-no-spot")
    },
    Scene {
        tracks: Take::Turned,
        ..scene("align-undecided")
    },
    Scene {
        choices: &[MEASURE, ("anchor", "First")],
        ..scene("align-missing-reach")
    },
    Scene {
        tracks: Take::Clipped,
        ..scene("align-clipped")
    },
    Scene {
        clicks: &[PLACEMENT],
        ..scene("placement-light")
    },
    Scene {
        clicks: &[PLACEMENT],
        paper: "dark",
        size: LARGE,
        ..scene("placement-dark-large")
    },
    Scene {
        clicks: &[PLACEMENT],
        size: SMALL,
        ..scene("placement-small")
    },
    Scene {
        clicks: &[LAG],
        ..scene("align-lag")
    },
    Scene {
        tracks: Take::Kick,
        choices: KICK,
        ..scene("align-kick-light")
    },
    Scene {
        tracks: Take::Kick,
        choices: KICK,
        paper: "dark",
        ..scene("align-kick-dark")
    },
    Scene {
        tracks: Take::Kick,
        choices: KICK,
        size: SMALL,
        clicks: &[KIT],
        ..scene("align-kick-small")
    },
    Scene {
        tracks: Take::Kick,
        choices: KICK,
        paper: "dark",
        size: LARGE,
        ..scene("align-kick-large")
    },
    Scene {
        clicks: &[RECALL],
        ..scene("recall-light")
    },
    Scene {
        clicks: &[RECALL],
        paper: "dark",
        ..scene("recall-dark")
    },
    Scene {
        clicks: &[RECALL],
        size: SMALL,
        ..scene("recall-small")
    },
    Scene {
        clicks: &[PLACEMENT, FOUR_HITS],
        pace: Pace::Playing,
        tracks: Take::Silence,
        ..scene("placement-four-hits")
    },
    Scene {
        choices: NULL_AT,
        ..sweep("sweep-null-at-light")
    },
    Scene {
        choices: NULL_AT,
        paper: "dark",
        ..sweep("sweep-null-at-dark")
    },
    Scene {
        clicks: &[PRESETS],
        ..sweep("presets-light")
    },
    Scene {
        clicks: &[PRESETS],
        paper: "dark",
        ..sweep("presets-dark")
    },
    sweep("sweep-light"),
    Scene {
        paper: "dark",
        ..sweep("sweep-dark")
    },
    Scene {
        size: SMALL,
        ..sweep("sweep-small")
    },
    Scene {
        size: LARGE,
        ..sweep("sweep-large")
    },
    Scene {
        choices: DRAG,
        ..sweep("sweep-drag")
    },
    align_print("print-align-light"),
    Scene {
        clicks: &[TAPE_SMALL_ALIGN],
        size: SMALL,
        ..align_print("print-align-small")
    },
    sweep_print("print-sweep-light"),
    Scene {
        paper: "dark",
        ..sweep_print("print-sweep-dark")
    },
    Scene {
        clicks: &[TAPE_SMALL],
        size: SMALL,
        ..sweep_print("print-sweep-small")
    },
];

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
