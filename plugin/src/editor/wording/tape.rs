//! What is said about the tape: its line-up, and how much of the take is distorted.

use crate::editor::drawing::plain;
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_dsp::print::third_harmonic::LINES;

/// "0 dB: 320 nWb/m, a sine of −18.0 dBFS".
pub fn tape_reference(settings: &PrintSettings) -> String {
    let lineup = settings.lineup;
    format!(
        "0 dB: {} nWb/m, a sine of {} dBFS",
        plain(lineup.fluxivity_nwb_m, 0),
        plain(lineup.reference_dbfs - settings.level_db, 1),
    )
}

/// "of the take 42 % over 0.3 %, 20 % over 1 %, 7.0 % over 3 %".
pub fn tape_shares(shares: [f64; LINES.len()]) -> String {
    let part = |(share, line): (f64, f64)| {
        let share = 100.0 * share;
        // What is little is told from nothing.
        let digits = usize::from(share > 0.0 && share < 9.95);
        let line = match 100.0 * line < 1.0 {
            true => plain(100.0 * line, 1),
            false => plain(100.0 * line, 0),
        };
        format!("{} % over {line} %", plain(share, digits))
    };
    let parts: Vec<String> = shares.into_iter().zip(LINES).map(part).collect();
    format!("of the take {}", parts.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::print::settings::Lineup;

    #[test]
    fn the_reference_is_the_level_that_is_recorded_there() {
        let settings = PrintSettings {
            level_db: 4.0,
            lineup: Lineup {
                fluxivity_nwb_m: 250.0,
                ..Lineup::STANDARD
            },
            ..PrintSettings::default()
        };
        assert_eq!(
            tape_reference(&settings),
            "0 dB: 250 nWb/m, a sine of −22.0 dBFS"
        );
    }

    #[test]
    fn shares_are_said_by_their_lines() {
        assert_eq!(
            tape_shares([0.42, 0.031, 0.0]),
            "of the take 42 % over 0.3 %, 3.1 % over 1 %, 0 % over 3 %"
        );
    }
}
