//! The decks in words: what they wait for, when the null point comes, and where the comb begins.

use crate::editor::drawing::{plain, signed};
use crate::editor::frame::Frame;
use crate::exchange::TransportState;
use plumbline_dsp::decks::motion::{Cue, Motion};
use plumbline_dsp::decks::preview::Bearings;

/// Where the deck is, in words.
pub fn offset_words(frame: &Frame) -> String {
    let Some(deck) = frame.decks.now() else {
        return "the decks wait for the host to run".to_owned();
    };
    let ms = deck.offset_s * 1000.0;
    let place = match signed(ms, 2).as_str() {
        "0.00" => "at the null point",
        text if text.starts_with('+') => "moving deck late",
        _ => "moving deck early",
    };
    format!("now {} ms: {place}", signed(ms, 2))
}

/// Everything that can be said, the most important first. `null_beats` is the place of the next null point in the song,
/// quarter notes.
pub fn readings(frame: &Frame, null_beats: Option<f64>) -> Vec<String> {
    let Some(deck) = frame.decks.now() else {
        return Vec::new();
    };
    let mut all = states(frame, &deck);
    all.extend(null_beats.map(|beats| null_words(&deck, beats)));
    all.extend(
        frame
            .decks
            .first_null_hz()
            .map(|hz| format!("first null {}", hertz(hz))),
    );
    let samples = frame.air().samples(deck.offset_s);
    all.push(format!("{} samples", signed(samples, 1)));
    all
}

/// What keeps the decks from being heard or from moving.
fn states(frame: &Frame, deck: &Bearings) -> Vec<String> {
    let decks = &frame.decks;
    let engage = (!decks.mix.engage).then(|| "Engage is off: the fixed deck alone".to_owned());
    let pass = (decks.course.motion == Motion::Pass).then(|| pass_words(frame, deck));
    let stands =
        (decks.transport == TransportState::Stopped).then(|| "the transport stands".to_owned());
    [engage, pass, stands].into_iter().flatten().collect()
}

fn pass_words(frame: &Frame, deck: &Bearings) -> String {
    let Some(cue) = deck.cue else {
        return "the pass waits for Start pass".to_owned();
    };
    let done = cue.progress(&deck.position, frame.decks.course.pace);
    match (cue, done) {
        (Cue::Beats(beats), ..0.0) => {
            let bar = beats / deck.position.beats_per_bar;
            format!("the pass waits for bar {}", bar.round() as i64 + 1)
        }
        (_, ..1.0) => "the pass runs".to_owned(),
        _ => "the pass is over".to_owned(),
    }
}

fn null_words(deck: &Bearings, beats: f64) -> String {
    let bars = (beats - deck.position.beats) / deck.position.beats_per_bar;
    format!("null point in {} bars", plain(bars.max(0.0), 1))
}

fn hertz(hz: f64) -> String {
    match hz {
        hz if hz < 1000.0 => format!("{} Hz", plain(hz, 0)),
        hz => format!("{} kHz", plain(hz / 1000.0, 2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::decks::song_clock::SongPosition;

    #[test]
    fn frequencies_and_bars() {
        assert_eq!(hertz(757.6), "758 Hz");
        assert_eq!(hertz(1515.2), "1.52 kHz");
        let deck = Bearings {
            position: SongPosition {
                beats: 10.0,
                beats_per_bar: 3.0,
                ..SongPosition::default()
            },
            ..Bearings::default()
        };
        assert_eq!(null_words(&deck, 16.0), "null point in 2.0 bars");
    }
}
