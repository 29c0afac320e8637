//! How the channels and the spot are moved before they are compared.

/// How the second channel is moved against the first before they are compared.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PairShift {
    /// Seconds, positive: the second is made later.
    pub later_s: f64,
    /// The second's polarity is reversed.
    pub flip: bool,
}

/// The spot as it is added to both channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpotShift {
    /// Against the first, seconds, positive: the spot is made later.
    pub later_s: f64,
    /// Its polarity is reversed.
    pub flip: bool,
    /// Its amplitude.
    pub gain: f64,
}

/// How a print is made of the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PrintShift {
    pub pair: PairShift,
    /// `None`: it is not in the print.
    pub spot: Option<SpotShift>,
}

impl From<PairShift> for PrintShift {
    fn from(pair: PairShift) -> Self {
        Self { pair, spot: None }
    }
}
