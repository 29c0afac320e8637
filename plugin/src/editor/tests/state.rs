//! The states of the window, and the gap of each.

/// Everything the window can have to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Before the first activation.
    NotRunning,
    Unmeasured,
    ListeningToNothing,
    SpotSilent,
    AllRefused,
    OneHit,
    Measured,
    FirstIsLater,
    Together,
    Undecided,
    Inverted,
    ReachMissing,
    NoSpot,
    /// From a session: the curve is not saved.
    Loaded,
    Mono,
    MonoWithoutSpot,
    /// Six drums with the kick's microphone as the spot, the whole kit matched, one drum with a name of its own.
    WholeKit,
    /// Four strokes are being played, two are still wanted.
    Picking,
    /// The gaps of another day are the target.
    Targeted,
    /// Too unsure to be corrected.
    Unsure,
    /// The decks, before the host has run them.
    DecksAtRest,
    HandAtNull,
    CycleRuns,
    PassCued,
    /// The pass has its null point on a bar of the song, and eases in.
    NullOnBar,
    DragHeld,
    /// Channels part, decks unequal, one reversed.
    DecksUnequal,
    DecksMono,
}

/// The states of the Sweep page.
pub const DECKS: [State; 8] = [
    State::DecksAtRest,
    State::HandAtNull,
    State::CycleRuns,
    State::PassCued,
    State::NullOnBar,
    State::DragHeld,
    State::DecksUnequal,
    State::DecksMono,
];

impl State {
    pub const ALL: [Self; 20] = [
        Self::NotRunning,
        Self::Unmeasured,
        Self::ListeningToNothing,
        Self::SpotSilent,
        Self::AllRefused,
        Self::OneHit,
        Self::Measured,
        Self::FirstIsLater,
        Self::Together,
        Self::Undecided,
        Self::Inverted,
        Self::ReachMissing,
        Self::NoSpot,
        Self::Loaded,
        Self::Mono,
        Self::MonoWithoutSpot,
        Self::WholeKit,
        Self::Picking,
        Self::Targeted,
        Self::Unsure,
    ];

    /// Attack gap, seconds; `None` before the first hit.
    pub fn gap_s(self) -> Option<f64> {
        match self {
            Self::NotRunning
            | Self::Unmeasured
            | Self::ListeningToNothing
            | Self::SpotSilent
            | Self::AllRefused
            | Self::MonoWithoutSpot => None,
            Self::FirstIsLater => Some(-292.0e-6),
            Self::Together => Some(9.0e-6),
            Self::ReachMissing => Some(1.83e-3),
            Self::Mono => Some(2.41e-3),
            _ => Some(99.0e-6),
        }
    }
}
