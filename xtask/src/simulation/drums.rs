//! The sounds of a drum kit, made of decaying modes, a stick click and rattling noise.

use std::f64::consts::TAU;

/// The pieces of the kit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drum {
    /// Bass drum with a felt beater.
    Kick,
    /// 14 inch snare, wires on.
    Snare,
    /// Closed hi-hat.
    Hat,
    /// Small tom on the rack.
    Rack,
    /// Floor tom.
    Floor,
    /// Crash-ride.
    Crash,
}

/// All of them, in the order of the score.
pub const DRUMS: [Drum; 6] = [
    Drum::Kick,
    Drum::Snare,
    Drum::Hat,
    Drum::Rack,
    Drum::Floor,
    Drum::Crash,
];

/// What a stroke is made of. Levels are pressure at one metre, full scale one.
struct Recipe {
    /// Frequency Hz, level, seconds to fall to 1/e.
    modes: &'static [(f64, f64, f64)],
    /// How far the pitch starts above its rest, as a part of it.
    bend: f64,
    /// Broadband noise: level, seconds to 1/e, and how much of the low end it loses (0 none, 1 all but the top).
    noise: (f64, f64, f64),
    /// Stick or beater: level and seconds to 1/e.
    click: (f64, f64),
    /// Seconds kept.
    length_s: f64,
}

const KICK: Recipe = Recipe {
    modes: &[(54.0, 0.60, 0.13), (92.0, 0.20, 0.05), (168.0, 0.08, 0.03)],
    bend: 0.9,
    noise: (0.05, 0.012, 0.5),
    click: (0.30, 0.0012),
    length_s: 0.8,
};

const SNARE: Recipe = Recipe {
    modes: &[
        (187.0, 0.26, 0.07),
        (331.0, 0.16, 0.05),
        (486.0, 0.08, 0.035),
        (742.0, 0.05, 0.02),
    ],
    bend: 0.04,
    noise: (0.22, 0.075, 0.7),
    click: (0.45, 0.0006),
    length_s: 0.6,
};

const HAT: Recipe = Recipe {
    modes: &[
        (6210.0, 0.010, 0.03),
        (8330.0, 0.012, 0.035),
        (10_470.0, 0.008, 0.03),
    ],
    bend: 0.0,
    noise: (0.075, 0.028, 0.97),
    click: (0.03, 0.0004),
    length_s: 0.25,
};

const RACK: Recipe = Recipe {
    modes: &[
        (132.0, 0.34, 0.20),
        (211.0, 0.16, 0.12),
        (298.0, 0.07, 0.08),
    ],
    bend: 0.10,
    noise: (0.03, 0.02, 0.5),
    click: (0.22, 0.0008),
    length_s: 1.0,
};

const FLOOR: Recipe = Recipe {
    modes: &[(81.0, 0.42, 0.28), (130.0, 0.18, 0.16), (186.0, 0.07, 0.10)],
    bend: 0.10,
    noise: (0.03, 0.02, 0.4),
    click: (0.20, 0.0010),
    length_s: 1.3,
};

const CRASH: Recipe = Recipe {
    modes: &[
        (1130.0, 0.010, 0.7),
        (2470.0, 0.012, 0.8),
        (3890.0, 0.014, 0.9),
        (5230.0, 0.014, 0.7),
    ],
    bend: 0.0,
    noise: (0.10, 0.55, 0.9),
    click: (0.06, 0.0005),
    length_s: 2.2,
};

impl Drum {
    fn recipe(self) -> &'static Recipe {
        match self {
            Drum::Kick => &KICK,
            Drum::Snare => &SNARE,
            Drum::Hat => &HAT,
            Drum::Rack => &RACK,
            Drum::Floor => &FLOOR,
            Drum::Crash => &CRASH,
        }
    }
}

/// Adds one stroke of a drum, starting between samples where the groove puts it.
pub fn strike(
    drum: Drum,
    velocity: f64,
    at: f64,
    sample_rate: f64,
    random: &mut fastrand::Rng,
    track: &mut [f64],
) {
    let recipe = drum.recipe();
    let first = at.ceil() as usize;
    let mut noise = Noise {
        low: 0.0,
        loss: recipe.noise.2,
        random,
    };
    for (n, sample) in track
        .iter_mut()
        .enumerate()
        .skip(first)
        .take((recipe.length_s * sample_rate) as usize)
    {
        let t = (n as f64 - at) / sample_rate;
        // A stick stays on the head for some tenths of a millisecond: no step at the very start.
        let rise = 1.0 - (-t / 0.000_12).exp();
        *sample += velocity * rise * (recipe.tone(t) + recipe.rattle(t, velocity) * noise.next());
    }
}

impl Recipe {
    fn tone(&self, t: f64) -> f64 {
        let turns = |hz: f64| hz * (t + self.bend * 0.03 * (1.0 - (-t / 0.03).exp()));
        self.modes
            .iter()
            .map(|&(hz, level, fall)| level * (-t / fall).exp() * (TAU * turns(hz)).sin())
            .sum()
    }

    /// Level of the noise: wires and metal, and the click; a harder stroke has more of it.
    fn rattle(&self, t: f64, velocity: f64) -> f64 {
        let (level, fall, _) = self.noise;
        let (click, click_fall) = self.click;
        velocity.sqrt() * (level * (-t / fall).exp() + click * (-t / click_fall).exp())
    }
}

/// White noise with its low end taken away.
struct Noise<'a> {
    low: f64,
    loss: f64,
    random: &'a mut fastrand::Rng,
}

impl Noise<'_> {
    fn next(&mut self) -> f64 {
        let white = 2.0 * self.random.f64() - 1.0;
        self.low += 0.25 * (white - self.low);
        white - self.loss * self.low
    }
}
