//! Where things stand on the plan: one scale for kit and strings, and the difference magnified until it can be seen.

use super::plan_sides::Sides;
use super::usual_kit::usual;
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
const FIRST: Vec2 = vec2(-0.497, -0.868);
const SECOND: Vec2 = vec2(0.994, 0.114);
/// Where the snare stands, as a part of the panel, in a right-handed kit as its player sees it.
const SNARE: Vec2 = vec2(0.42, 0.64);

/// What the plan's lengths are worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Nothing says how far the microphones are.
    Unknown,
    /// The spot stands at another drum: to scale if that one stands where it usually does.
    Assumed,
    /// The spot stands at the drum that is aligned.
    Measured,
}

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
    /// What the shared length is worth.
    pub worth: Scale,
    /// Directions of first and second from the snare.
    pub directions: [Vec2; 2],
    /// Where the microphones are, cm from the snare, right and down as the player sees it.
    pub microphones_cm: [Vec2; 2],
    pub sides: Sides,
}

/// What the plan draws, cm.
struct Lengths {
    /// What both strings share.
    shared: f32,
    /// By how much the longer one is longer.
    gap: f32,
    worth: Scale,
}

impl Lengths {
    fn new(frame: &Frame, pair_gap_s: f64) -> Self {
        let air = frame.air();
        let first = frame.measurement().spot_to_first;
        let after_spot = first.map(|first| air.cm(first.attack_s + pair_gap_s.min(0.0)));
        let (to_spot, worth) = to_spot_cm(frame);
        let shorter = after_spot.map(|cm| cm + to_spot);
        let sensible = shorter.filter(|cm| *cm >= ABSURD_CM && worth != Scale::Unknown);
        Self {
            shared: sensible.unwrap_or(UNKNOWN_CM) as f32,
            gap: air.cm(pair_gap_s).abs() as f32,
            worth: sensible.map_or(Scale::Unknown, |_| worth),
        }
    }
}

/// How far the drum that is aligned is from the spot, cm, and what that is worth.
fn to_spot_cm(frame: &Frame) -> (f64, Scale) {
    let measurement = frame.measurement();
    let chosen = measurement.chosen().map(|drum| drum.number);
    match (frame.activation.channels, measurement.spots_own()) {
        (Channels::Mono, _) => (0.0, Scale::Measured),
        // One drum says nothing about where the spot stands.
        (Channels::Pair, _) if measurement.drums().len() < 2 => (0.0, Scale::Unknown),
        (Channels::Pair, Some(own)) if Some(own.number) == chosen => (0.0, Scale::Measured),
        (Channels::Pair, own) => match own.and_then(|own| usual(own.kind)) {
            Some(usual) => (f64::from(usual.place().length()), Scale::Assumed),
            None => (0.0, Scale::Unknown),
        },
    }
}

/// Room for the longer and the shorter string, points: the one over the hi-hat goes up to the caption, the other one
/// right to its own label.
fn room(rect: Rect, snare: Pos2, directions: [Vec2; 2], pair_gap_s: f64) -> (f32, f32) {
    let inner = rect.shrink2(vec2(96.0, 40.0));
    let [first, second] = directions.map(|direction| way(inner, snare, direction).max(30.0));
    match pair_gap_s < 0.0 {
        true => (first, second),
        false => (second, first),
    }
}

/// How far it is from a place to the edge of a room, points.
fn way(room: Rect, from: Pos2, direction: Vec2) -> f32 {
    let along = |direction: f32, before: f32, after: f32| match direction {
        d if d > 1e-3 => after / d,
        d if d < -1e-3 => before / -d,
        _ => f32::INFINITY,
    };
    let across = along(direction.x, from.x - room.min.x, room.max.x - from.x);
    across.min(along(direction.y, from.y - room.min.y, room.max.y - from.y))
}

impl PlanLayout {
    /// Within a panel.
    pub fn new(rect: Rect, frame: &Frame) -> Self {
        let sides = Sides::of(&frame.window);
        let directions = [FIRST, SECOND].map(|direction| sides.turn(direction));
        let snare = rect.center() + rect.size() * sides.turn(SNARE - vec2(0.5, 0.5));
        let pair_gap_s = match (frame.activation.channels, frame.lag()) {
            (Channels::Pair, Some(lag)) => lag.attack_s,
            _ => 0.0,
        };
        let cm = Lengths::new(frame, pair_gap_s);
        let (longer, shorter) = room(rect, snare, directions, pair_gap_s);
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
            worth: cm.worth,
            directions,
            microphones_cm: match pair_gap_s < 0.0 {
                true => [FIRST * (cm.shared + cm.gap), SECOND * cm.shared],
                false => [FIRST * cm.shared, SECOND * (cm.shared + cm.gap)],
            },
            sides,
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
