//! What a measurement says: every drum with its own gap in seconds, how sure each is, and which drum is the one aligned.

/// How the second channel's polarity stands against the first's (or a channel's against the spot's).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Polarity {
    /// The wavefronts push the same way.
    Same,
    /// One of the two has reversed polarity.
    Inverted,
    /// The odds are too even to say. Never corrected automatically.
    #[default]
    Undecided,
}

/// One measured lag between two signals: later minus earlier named signal, positive = the latter is later.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Lag {
    /// The first wavefronts land together when this is taken out, in seconds.
    pub attack_s: f64,
    /// The sum is fullest over the drum's body when this is taken out, in seconds.
    pub body_s: f64,
    /// Standard error of `attack_s`, in seconds.
    pub spread_s: f64,
    /// Which way the fronts push.
    pub polarity: Polarity,
    /// Probability that `polarity` is right, 0.5 to 1.
    pub polarity_odds: f64,
    /// Probability that `attack_s` is within 1 cm of air, 0 to 1.
    pub confidence: f64,
}

/// Why hits were not counted, one counter a reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Refused {
    /// A sample at full scale inside the window.
    pub clipped: u32,
    /// Too little above the noise, or unlike every drum.
    pub buried: u32,
}

impl Refused {
    /// All refused hits.
    pub fn total(&self) -> u32 {
        self.clipped + self.buried
    }
}

/// What a drum may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum DrumKind {
    /// Body at 150 to 400 Hz, wires and stick above, little below 110 Hz.
    Snare,
    /// Most below 110 Hz.
    Kick,
    /// Body without wires.
    Tom,
    /// More above 3 kHz than body.
    Cymbal,
    /// None of these stands out.
    #[default]
    Other,
}

/// Kinds of which a drum has a probability: snare, kick, tom, cymbal, in this order.
pub const KINDS: [DrumKind; 4] = [
    DrumKind::Snare,
    DrumKind::Kick,
    DrumKind::Tom,
    DrumKind::Cymbal,
];

/// What a drum sounds like and where it is, to find it again in another take: levels of its bands in first and second, dB
/// against the mean of all.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Signature {
    /// First's bands, then second's.
    pub levels_db: [f32; 10],
}

impl Signature {
    /// How unlike two drums are: root mean square of the levels' differences, dB.
    pub fn distance_db(&self, other: &Self) -> f32 {
        let squares = self.levels_db.iter().zip(&other.levels_db);
        let sum: f32 = squares.map(|(a, b)| (a - b).powi(2)).sum();
        (sum / self.levels_db.len() as f32).sqrt()
    }
}

/// One drum of the kit.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Drum {
    /// Stays with the drum as long as it is known.
    pub number: u8,
    /// The likeliest kind.
    pub kind: DrumKind,
    /// Probability of each of [`KINDS`].
    pub probabilities: [f32; 4],
    /// Hits counted to it.
    pub hits: u32,
    /// Second minus first. `None` for a mono main, or where no fronts were found.
    pub gap: Option<Lag>,
    /// First minus spot. `None` where the spot does not hear it.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot.
    pub spot_to_second: Option<Lag>,
    /// Its part of the pair's energy, 0 to 1.
    pub share: f32,
    /// What it is found again by.
    pub signature: Signature,
}

/// What became of one hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HitOutcome {
    /// Counted to the drum of this [`Drum::number`].
    Counted {
        /// [`Drum::number`].
        drum: u8,
        /// Second minus first of this hit alone, seconds; `None` where its front is covered, or not fitted yet.
        gap_s: Option<f64>,
    },
    /// A sample at full scale inside the window.
    Clipped,
    /// Too little above the noise, or unlike every drum.
    Buried,
}

/// One hit of the log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Seconds of audio pushed since the last reset.
    pub at_s: f64,
    /// What became of it.
    pub outcome: HitOutcome,
}

/// Why the chosen drum is the one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Why {
    /// Nothing was heard yet.
    #[default]
    NothingHeard,
    /// It was asked for by kind, picked, or by its strokes.
    Asked,
    /// It was asked for, is not heard, and this one stands in its place.
    AskedNotHeard,
    /// The spot stands at it.
    SpotsOwn,
    /// The single channel stands at it.
    ChannelsOwn,
    /// It is the snare.
    Snare,
    /// No snare is heard, and it has the most hits.
    MostHits,
}

/// Where the mono sum of the whole kit loses least, each drum weighed by its own level, the chosen one twice.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct KitAim {
    /// Second minus first, seconds: taken out, least is lost.
    pub gap_s: f64,
    /// What is lost then, dB, 0 or less.
    pub loss_db: f64,
}

/// The compromise for the whole kit, with the second channel as it is and reversed.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct KitMatch {
    /// The second stays as it is.
    pub upright: KitAim,
    /// The second's polarity is reversed.
    pub turned: KitAim,
    /// What is lost as recorded, dB.
    pub recorded_db: f64,
}

/// Most drums told apart.
pub const MAX_DRUMS: usize = 6;

/// Everything the analyser knows so far. Plain numbers: copy it, store it, send it.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Measurement {
    /// Hits of the chosen drum.
    pub hits: u32,
    /// Hits that were not counted, by reason.
    pub refused: Refused,
    /// Second minus first on the chosen drum, measured directly between the two.
    pub gap: Option<Lag>,
    /// First minus spot.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot.
    pub spot_to_second: Option<Lag>,
    /// The drums told apart; only the first `drum_count` are filled.
    pub drums: [Drum; MAX_DRUMS],
    /// How many of `drums` are filled.
    pub drum_count: u8,
    /// Index into `drums` of the one that is aligned.
    pub chosen: Option<u8>,
    /// Why it is that one.
    pub why: Why,
    /// Index into `drums` of the one that the spot stands at; `None` without a spot, or where it hears no drum best.
    pub spots_own: Option<u8>,
    /// The spot heard something in the hits.
    pub spot_heard: bool,
    /// The compromise for the whole kit. `None` for a mono main, and before the first hit.
    pub kit: Option<KitMatch>,
}

impl Measurement {
    /// The filled drums.
    pub fn drums(&self) -> &[Drum] {
        &self.drums[..usize::from(self.drum_count)]
    }

    /// The drum that is aligned.
    pub fn chosen(&self) -> Option<&Drum> {
        self.drums().get(usize::from(self.chosen?))
    }

    /// The drum that the spot stands at.
    pub fn spots_own(&self) -> Option<&Drum> {
        self.drums().get(usize::from(self.spots_own?))
    }

    /// The drum of a number.
    pub fn numbered(&self, number: u8) -> Option<&Drum> {
        self.drums().iter().find(|drum| drum.number == number)
    }
}
