//! Which parameters a preset may hold.

/// Parameters that no preset holds: what is for the ear, what is pressed and let go, and what belongs to the take, the song
/// or the room.
const NEVER: [&str; 13] = [
    "bypass",
    "monitor",
    "compare",
    "measure",
    "start",
    "recue",
    "drum",
    "polarity",
    "nudge_first",
    "nudge_second",
    "spot_trim",
    "null_at",
    "temperature",
];

/// Whether a preset may hold the parameter of this id.
pub fn may_hold(id: &str) -> bool {
    !NEVER.contains(&id)
}
