//! What a host does in one case, made up from a seed. Steps stand for themselves: a case without one of them is one too.

use fastrand::Rng;

/// One thing that a host does.
#[derive(Clone, Debug)]
pub enum Step {
    Play(Play),
    Restart(Restart),
    /// Loads a state that the plugin has saved, spoilt.
    Load(Damage),
    /// Parameters without audio.
    Flush {
        seed: u64,
    },
    Reset,
    Arrange(Arrange),
    /// Switches a bus on or off.
    Switch {
        bus: SwitchedBus,
        on: bool,
    },
    /// Reads and sets parameters on the main thread.
    Ask {
        seed: u64,
    },
}

/// One block.
#[derive(Clone, Debug)]
pub struct Play {
    pub frames: usize,
    /// Of the audio and the events.
    pub seed: u64,
    pub input: Bus,
    pub spot: Bus,
    pub output: Bus,
    pub sound: Sound,
    pub events: usize,
    pub song: Place,
}

/// How a bus is handed over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bus {
    Whole,
    OneChannel,
    NullChannels,
    NullArray,
    LeftOut,
}

/// What is on the inputs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sound {
    /// Noise of this peak.
    Noise(f32),
    /// This number everywhere.
    Constant(f32),
}

/// Where the song is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// Nothing is said.
    Unknown,
    /// Seconds, and beats a minute.
    Rolling(f64, f64),
    Stopped(f64),
}

/// A new activation.
#[derive(Clone, Debug)]
pub struct Restart {
    pub sample_rate: f64,
    pub longest: usize,
    pub offline: bool,
}

/// Buses of other widths.
#[derive(Clone, Copy, Debug)]
pub struct Arrange {
    /// Channels, possible and impossible ones.
    pub main: u32,
    /// `None`: it is not named.
    pub spot: Option<u32>,
    /// Without a deactivation before.
    pub active: bool,
}

/// A bus that is switched, or one that there is not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SwitchedBus {
    MainIn,
    Spot,
    MainOut,
    Unknown,
}

/// What happens to a saved state.
#[derive(Clone, Copy, Debug)]
pub enum Damage {
    None,
    Empty,
    /// Only this part of it.
    Truncated(f64),
    /// Bits flipped from this seed.
    Flipped(u64),
    /// Numbers out of every range.
    Absurd,
}

/// The longest block of the first activation.
pub const FIRST_LONGEST: usize = 4_096;

const RATES: [f64; 12] = [
    1_000.0,
    1_234.567_8,
    8_000.0,
    11_025.0,
    22_050.0,
    44_100.0,
    48_000.0,
    88_200.0,
    96_000.0,
    192_000.0,
    384_000.0,
    768_000.0,
];

/// The steps of a case. Lengths of blocks hold for any activation: what is too long for one is refused.
pub fn steps(seed: u64) -> Vec<Step> {
    let mut random = Rng::with_seed(seed);
    (0..random.usize(1..60))
        .map(|_| step(&mut random))
        .collect()
}

fn step(random: &mut Rng) -> Step {
    match random.u32(0..44) {
        0..2 => Step::Restart(Restart {
            sample_rate: RATES[random.usize(0..RATES.len())],
            longest: [1, 17, 64, 512, 4_096, 65_536][random.usize(0..6)],
            offline: random.u32(0..4) == 0,
        }),
        2..4 => Step::Load(damage(random)),
        4..6 => Step::Flush {
            seed: random.u64(..),
        },
        6 => Step::Reset,
        7..10 => Step::Ask {
            seed: random.u64(..),
        },
        10 => Step::Arrange(Arrange {
            main: random.u32(0..4),
            spot: (random.u32(0..3) > 0).then(|| random.u32(0..4)),
            active: random.bool(),
        }),
        11..14 => Step::Switch {
            bus: switched_bus(random),
            on: random.bool(),
        },
        _ => Step::Play(play(random)),
    }
}

fn switched_bus(random: &mut Rng) -> SwitchedBus {
    match random.u32(0..7) {
        0..2 => SwitchedBus::MainIn,
        2..4 => SwitchedBus::Spot,
        4..6 => SwitchedBus::MainOut,
        _ => SwitchedBus::Unknown,
    }
}

fn play(random: &mut Rng) -> Play {
    Play {
        frames: match random.u32(0..10) {
            0 => 0,
            1 => 1,
            2 => random.usize(1..65_537),
            3..6 => [16, 64, 256, 512][random.usize(0..4)],
            _ => random.usize(1..1_025),
        },
        seed: random.u64(..),
        input: bus(random),
        spot: bus(random),
        output: bus(random),
        sound: sound(random),
        events: match random.u32(0..10) {
            0..4 => 0,
            4..8 => random.usize(1..20),
            8 => random.usize(1..400),
            _ => random.usize(1..5_000),
        },
        song: place(random),
    }
}

fn bus(random: &mut Rng) -> Bus {
    match random.u32(0..16) {
        0 => Bus::OneChannel,
        1 => Bus::NullChannels,
        2 => Bus::NullArray,
        3 => Bus::LeftOut,
        _ => Bus::Whole,
    }
}

fn sound(random: &mut Rng) -> Sound {
    match random.u32(0..12) {
        0 => Sound::Constant(f32::NAN),
        1 => Sound::Constant(f32::NEG_INFINITY),
        2 => Sound::Constant(0.0),
        3 => Sound::Constant(f32::MAX),
        4 => Sound::Noise(10_f32.powf(random.f32() * 60.0 - 45.0)),
        _ => Sound::Noise(1.0),
    }
}

fn place(random: &mut Rng) -> Place {
    let seconds = match random.u32(0..8) {
        0 => -random.f64() * 100.0,
        1 => random.f64() * 1e9,
        _ => random.f64() * 300.0,
    };
    match random.u32(0..6) {
        0 => Place::Unknown,
        1 => Place::Stopped(seconds),
        2 => Place::Rolling(seconds, [0.0, -120.0, f64::NAN, 1e300][random.usize(0..4)]),
        _ => Place::Rolling(seconds, 30.0 + 300.0 * random.f64()),
    }
}

fn damage(random: &mut Rng) -> Damage {
    match random.u32(0..6) {
        0 => Damage::Empty,
        1 => Damage::Truncated(random.f64()),
        2 => Damage::Flipped(random.u64(..)),
        3 => Damage::Absurd,
        _ => Damage::None,
    }
}

impl Damage {
    /// Does it to a state, whose JSON begins after `head` bytes.
    pub fn done_to(self, mut state: Vec<u8>, head: usize) -> Vec<u8> {
        match self {
            Self::None => state,
            Self::Empty => Vec::new(),
            Self::Truncated(part) => {
                state.truncate((state.len() as f64 * part) as usize);
                state
            }
            Self::Flipped(seed) => {
                let mut random = Rng::with_seed(seed);
                for _ in 0..random.usize(1..30) {
                    let at = random.usize(head.min(state.len() - 1)..state.len());
                    state[at] ^= 1 << random.u32(0..8);
                }
                state
            }
            Self::Absurd => absurd(&state, head),
        }
    }
}

/// Every number of a state 30 decades larger; the length in front is kept true.
fn absurd(state: &[u8], head: usize) -> Vec<u8> {
    let text = String::from_utf8_lossy(&state[head..]).replace(".0", ".0e30");
    let mut absurd = match head {
        0 => Vec::new(),
        _ => (text.len() as u64).to_le_bytes().to_vec(),
    };
    absurd.extend_from_slice(text.as_bytes());
    absurd
}
