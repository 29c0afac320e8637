//! The choices of the decks as they are typed.

use clap::ValueEnum;

/// What moves the moving deck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MotionChoice {
    /// The offset you draw with --offset
    Hand,
    /// To and fro, one cycle a length
    Cycle,
    /// Once from one side to the other; the null point is the middle of the length
    Pass,
    /// A braked reel: the force you draw with --drag
    Drag,
}

/// The shape of a travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CurveChoice {
    /// Slowest at the turns
    Sine,
    /// Constant speed
    Triangle,
    /// Constant speed, inertia at the turns
    Reel,
}

/// Lengths of a cycle or a pass, as the plugin writes them.
const LENGTHS: [&str; 9] = [
    "1/4 beat", "1/2 beat", "1 beat", "2 beats", "1 bar", "2 bars", "4 bars", "8 bars", "16 bars",
];

/// A length as the plugin writes it, from "4bars", "4 Bar" or "1/2beat".
///
/// # Errors
///
/// When there is no such length; the text names all.
pub fn length(text: &str) -> Result<String, String> {
    let plain = |text: &str| text.to_lowercase().replace(' ', "");
    let bare = |text: &str| plain(text).trim_end_matches('s').to_owned();
    let known = LENGTHS.into_iter().find(|known| bare(known) == bare(text));
    known
        .map(str::to_owned)
        .ok_or_else(|| format!("a length is one of: {}", LENGTHS.map(plain).join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_however_they_are_typed() {
        for (typed, known) in [
            ("4bars", "4 bars"),
            ("4 Bar", "4 bars"),
            ("1/2beat", "1/2 beat"),
        ] {
            assert_eq!(length(typed).unwrap(), known);
        }
        assert!(length("3bars").unwrap_err().contains("2bars, 4bars"));
    }
}
