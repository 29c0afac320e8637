//! Dry strokes of a kit: membranes struck at a point, snare wires, cymbals; no two alike.

use std::f64::consts::{PI, TAU};

use super::RATE;
use crate::noise::Noise;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    Kick,
    Snare,
    HighTom,
    LowTom,
    Hat,
    Ride,
    Crash,
}

impl Source {
    pub const ALL: [Self; 7] = [
        Self::Kick,
        Self::Snare,
        Self::HighTom,
        Self::LowTom,
        Self::Hat,
        Self::Ride,
        Self::Crash,
    ];

    pub fn is_cymbal(self) -> bool {
        matches!(self, Self::Hat | Self::Ride | Self::Crash)
    }
}

/// Where and how hard a stick lands.
#[derive(Clone, Copy, Debug)]
pub struct Stick {
    /// From the centre of the head, metres.
    pub x: f64,
    pub y: f64,
    /// 0 to 1.
    pub velocity: f64,
}

/// One mode of a membrane: nodal diameters, zero of the Bessel function, pitch and decay.
struct Mode {
    diameters: u32,
    zero: f64,
    hz: f64,
    decay_s: f64,
}

const fn mode(diameters: u32, zero: f64, hz: f64, decay_s: f64) -> Mode {
    Mode {
        diameters,
        zero,
        hz,
        decay_s,
    }
}

struct Head {
    radius_m: f64,
    modes: &'static [Mode],
    gain: f64,
    /// The stick's or beater's own click: level against the modes, length at full velocity.
    click: f64,
    click_s: f64,
    /// Snare wires: level against the modes, decay.
    wires: f64,
    wires_s: f64,
}

/// Fourteen inches. Pitches near those of a common snare drum (from memory, after Rossing); zeros of J0 to J3 as in any
/// table; levels of click and wires by ear, no source.
const SNARE: Head = Head {
    radius_m: 0.178,
    modes: &[
        mode(0, 2.405, 185.0, 0.08),
        mode(1, 3.832, 280.0, 0.06),
        mode(0, 2.405, 330.0, 0.05),
        mode(2, 5.136, 405.0, 0.04),
        mode(3, 6.380, 515.0, 0.03),
        mode(0, 5.520, 590.0, 0.03),
    ],
    gain: 1.0,
    click: 0.5,
    click_s: 0.000_15,
    wires: 0.5,
    wires_s: 0.06,
};

const KICK: Head = Head {
    radius_m: 0.28,
    modes: &[
        mode(0, 2.405, 58.0, 0.15),
        mode(1, 3.832, 92.0, 0.10),
        mode(0, 5.520, 130.0, 0.06),
    ],
    gain: 2.5,
    click: 0.12,
    click_s: 0.000_4,
    wires: 0.0,
    wires_s: 0.0,
};

const HIGH_TOM: Head = Head {
    radius_m: 0.152,
    modes: &[
        mode(0, 2.405, 135.0, 0.25),
        mode(1, 3.832, 215.0, 0.18),
        mode(2, 5.136, 290.0, 0.12),
    ],
    gain: 1.2,
    click: 0.15,
    click_s: 0.000_2,
    wires: 0.0,
    wires_s: 0.0,
};

const LOW_TOM: Head = Head {
    radius_m: 0.203,
    modes: &[
        mode(0, 2.405, 82.0, 0.30),
        mode(1, 3.832, 131.0, 0.22),
        mode(2, 5.136, 176.0, 0.15),
    ],
    gain: 1.5,
    click: 0.12,
    click_s: 0.000_25,
    wires: 0.0,
    wires_s: 0.0,
};

/// The wires answer when the pressure has crossed the shell: 14 cm of air.
const WIRES_LATE_S: f64 = 0.000_4;
/// Longest stroke, seconds; its last tenth is faded out.
pub const LONGEST_S: f64 = 0.5;

/// One stroke; an impact at sample 0.
pub fn stroke(source: Source, stick: Stick, noise: &mut Noise) -> Vec<f64> {
    let mut sound = match source {
        Source::Kick => struck(&KICK, stick, noise),
        Source::Snare => struck(&SNARE, stick, noise),
        Source::HighTom => struck(&HIGH_TOM, stick, noise),
        Source::LowTom => struck(&LOW_TOM, stick, noise),
        Source::Hat => cymbal(0.035, 0.0, noise),
        Source::Ride => cymbal(0.40, 0.6, noise),
        Source::Crash => swell(noise),
    };
    let length = sound.len();
    for (n, x) in sound.iter_mut().enumerate() {
        let fade = if source == Source::Crash {
            1.0
        } else {
            ((length - n) as f64 / (0.1 * length as f64)).min(1.0)
        };
        *x *= stick.velocity * fade;
    }
    sound
}

fn length() -> usize {
    (LONGEST_S * RATE) as usize
}

/// A membrane struck at a point: each mode as strong as it moves there (a mode of m diameters as J_m(zero r / a) cos(m phi)),
/// the click shorter and so brighter the harder the stroke.
fn struck(head: &Head, stick: Stick, noise: &mut Noise) -> Vec<f64> {
    let (radius, angle) = (stick.x.hypot(stick.y), stick.y.atan2(stick.x));
    let modes: Vec<(f64, f64, f64)> = head
        .modes
        .iter()
        .map(|mode| {
            let order = f64::from(mode.diameters);
            let here = bessel(order, mode.zero * radius / head.radius_m) * (order * angle).cos();
            let hz = mode.hz * noise.between(0.997, 1.003);
            (here / head.modes.len() as f64, TAU * hz, mode.decay_s)
        })
        .collect();
    // Harder is shorter: contact time falls with the fifth root of the velocity (Hertz).
    let click_s = head.click_s * stick.velocity.powf(-0.2);
    let mut wires = Slopes::new(9_000.0, 1_500.0);
    (0..length())
        .map(|n| {
            let t = n as f64 / RATE;
            let tone =
                |(gain, w, decay): &(f64, f64, f64)| gain * (w * t).sin() * (-t / decay).exp();
            let body: f64 = modes.iter().map(tone).sum();
            let click = if t < click_s {
                (TAU * t / click_s).sin()
            } else {
                0.0
            };
            let rattle = if head.wires > 0.0 && t > WIRES_LATE_S {
                wires.next(noise.normal()) * (-t / head.wires_s).exp()
            } else {
                0.0
            };
            head.gain * (body + head.click * click + head.wires * rattle)
        })
        .collect()
}

/// A cymbal: noise above 2.5 kHz, new each time, some of it a bright first stroke.
fn cymbal(decay_s: f64, ping: f64, noise: &mut Noise) -> Vec<f64> {
    let (mut once, mut twice) = (
        Slopes::new(16_000.0, 2_500.0),
        Slopes::new(16_000.0, 2_500.0),
    );
    (0..length())
        .map(|n| {
            let t = n as f64 / RATE;
            let envelope = (-t / decay_s).exp() + 3.0 * ping * (-t / 0.006).exp();
            twice.next(once.next(noise.normal())) * envelope * (t / 0.000_1).min(1.0)
        })
        .collect()
}

/// A piece of a cymbal's wash: pieces that overlap by half add to a constant power.
fn swell(noise: &mut Noise) -> Vec<f64> {
    let mut wash = cymbal(f64::INFINITY, 0.0, noise);
    let length = wash.len() as f64;
    for (n, x) in wash.iter_mut().enumerate() {
        *x *= (PI * (n as f64 + 0.5) / length).sin();
    }
    wash
}

/// Noise between two one-pole slopes.
struct Slopes {
    upper: f64,
    lower: f64,
    high: f64,
    low: f64,
}

impl Slopes {
    fn new(upper_hz: f64, lower_hz: f64) -> Self {
        let pole = |hz: f64| 1.0 - (-TAU * hz / RATE).exp();
        Self {
            upper: pole(upper_hz),
            lower: pole(lower_hz),
            high: 0.0,
            low: 0.0,
        }
    }

    fn next(&mut self, x: f64) -> f64 {
        self.high += self.upper * (x - self.high);
        self.low += self.lower * (self.high - self.low);
        self.high - self.low
    }
}

/// J of an integer order, by Bessel's integral over half a turn (exact to rounding with a midpoint rule this fine).
fn bessel(order: f64, x: f64) -> f64 {
    let points = 32;
    let angle = |n: i32| PI * (f64::from(n) + 0.5) / f64::from(points);
    let inside = |theta: f64| (order * theta - x * theta.sin()).cos();
    (0..points).map(|n| inside(angle(n))).sum::<f64>() / f64::from(points)
}

/// Zeros and values of the tables (Abramowitz & Stegun, table 9.1 and 9.5; from memory).
#[test]
fn bessel_functions() {
    for (order, x, want) in [
        (0.0, 0.0, 1.0),
        (0.0, 1.0, 0.765_197_7),
        (1.0, 1.0, 0.440_050_6),
        (0.0, 2.404_825_6, 0.0),
        (1.0, 3.831_706_0, 0.0),
        (2.0, 5.135_622_3, 0.0),
    ] {
        crate::support::assert_near(&format!("J{order}({x})"), bessel(order, x), want, 1e-6);
    }
}
