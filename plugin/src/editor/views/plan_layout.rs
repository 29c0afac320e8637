//! Where things stand on the plan: one scale for kit and strings, and the difference magnified until it can be seen.

use crate::editor::frame::{Channels, Frame};
use egui::{Pos2, Rect, Vec2, vec2};

/// Length of a string that was not measured, or makes no sense as a distance, cm.
const UNKNOWN_CM: f64 = 120.0;
/// Shorter than this no overhead hangs: the spot was moved in time, cm.
const ABSURD_CM: f64 = 20.0;
/// The difference is magnified until it is this long, points, so that it can be seen.
const LEAST: f32 = 26.0;
/// Part of the room that the shared length takes at most: the rest is for the difference.
const LARGEST_PART: f32 = 0.8;
/// Directions of the microphones, unit vectors: over the hi-hat, over the floor tom.
pub const FIRST: Vec2 = vec2(-0.497, -0.868);
pub const SECOND: Vec2 = vec2(0.994, 0.114);

/// Where things stand.
pub struct PlanLayout {
    pub snare: Pos2,
    /// Points of a centimetre.
    pub scale: f32,
    /// Points that both strings share.
    pub shared: f32,
    /// Points by which the longer one is longer.
    pub extra: f32,
    /// How many times larger than the rest the difference is drawn.
    pub magnified: u32,
    /// The shared length was measured.
    pub measured: bool,
}

/// What the plan draws, cm.
struct Lengths {
    /// What both strings share.
    shared: f32,
    /// By how much the longer one is longer.
    gap: f32,
    measured: bool,
}

impl Lengths {
    fn new(frame: &Frame, pair_gap_s: f64) -> Self {
        let air = frame.air();
        let first = frame.measurement().spot_to_first;
        let shorter = first.map(|first| air.cm(first.attack_s + pair_gap_s.min(0.0)));
        let measured = shorter.filter(|cm| *cm >= ABSURD_CM);
        Self {
            shared: measured.unwrap_or(UNKNOWN_CM) as f32,
            gap: air.cm(pair_gap_s).abs() as f32,
            measured: measured.is_some(),
        }
    }
}

/// Room for the longer and the shorter string, points: the one over the hi-hat goes up to the caption, the other one
/// right to its own label.
fn room(rect: Rect, snare: Pos2, pair_gap_s: f64) -> (f32, f32) {
    let up = ((snare.y - rect.min.y - 40.0) / -FIRST.y).max(30.0);
    let right = ((rect.max.x - snare.x - 96.0) / SECOND.x).max(30.0);
    match pair_gap_s < 0.0 {
        true => (up, right),
        false => (right, up),
    }
}

impl PlanLayout {
    /// Within a panel.
    pub fn new(rect: Rect, frame: &Frame) -> Self {
        let snare = rect.min + rect.size() * vec2(0.42, 0.64);
        let pair_gap_s = match (frame.activation.channels, frame.lag()) {
            (Channels::Pair, Some(lag)) => lag.attack_s,
            _ => 0.0,
        };
        let cm = Lengths::new(frame, pair_gap_s);
        let (longer, shorter) = room(rect, snare, pair_gap_s);
        let scale = (LARGEST_PART * longer / cm.shared)
            .min(longer / (cm.shared + cm.gap))
            .min(shorter / cm.shared);
        let shared = cm.shared * scale;
        let true_extra = cm.gap * scale;
        let magnified = magnified(true_extra, longer - shared);
        Self {
            snare,
            scale,
            shared,
            extra: magnified as f32 * true_extra,
            magnified,
            measured: cm.measured,
        }
    }

    /// The point so far from the snare.
    pub fn along(&self, direction: Vec2, length: f32) -> Pos2 {
        self.snare + direction * length
    }
}

/// How many times the difference must be enlarged to be seen, as far as there is room for it.
fn magnified(true_extra: f32, room: f32) -> u32 {
    let drawn = |times: u32| times as f32 * true_extra;
    let fitting = [20, 10, 5, 2, 1]
        .into_iter()
        .filter(|times| drawn(*times) <= room);
    let seen = fitting.clone().filter(|times| drawn(*times) >= LEAST);
    seen.min().or(fitting.max()).unwrap_or(1)
}
