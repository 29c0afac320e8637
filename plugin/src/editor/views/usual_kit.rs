//! The drums of a usual kit, where they stand for orientation.

use egui::{Vec2, vec2};
use plumbline_dsp::measurement::DrumKind;

/// A drum beside the snare in a usual right-handed kit as its player sees it.
pub struct Usual {
    /// From the snare's middle, cm right and back.
    place_cm: (f32, f32),
    pub radius_cm: f32,
    pub name: &'static str,
    pub kind: DrumKind,
}

/// For orientation: no kit was measured (common practice, no source).
pub const USUAL: [Usual; 5] = [
    Usual {
        place_cm: (42.0, 60.0),
        radius_cm: 28.0,
        name: "kick",
        kind: DrumKind::Kick,
    },
    Usual {
        place_cm: (-45.0, 14.0),
        radius_cm: 18.0,
        name: "hat",
        kind: DrumKind::Cymbal,
    },
    Usual {
        place_cm: (3.0, 50.0),
        radius_cm: 16.0,
        name: "rack",
        kind: DrumKind::Tom,
    },
    Usual {
        place_cm: (99.0, 39.0),
        radius_cm: 24.0,
        name: "ride",
        kind: DrumKind::Cymbal,
    },
    Usual {
        place_cm: (74.0, -24.0),
        radius_cm: 21.0,
        name: "floor",
        kind: DrumKind::Tom,
    },
];
impl Usual {
    /// From the snare's middle, cm right and down as its player sees it.
    pub fn place(&self) -> Vec2 {
        vec2(self.place_cm.0, -self.place_cm.1)
    }
}

/// The drum of a kind; `None` for what has no usual place.
pub fn usual(kind: DrumKind) -> Option<&'static Usual> {
    USUAL.iter().find(|usual| usual.kind == kind)
}
