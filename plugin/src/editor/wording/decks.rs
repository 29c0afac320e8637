//! The decks in words: what they wait for, when the null point comes, and where the comb begins.

use crate::editor::drawing::{hertz, plain, signed};
use crate::editor::frame::Frame;
use crate::exchange::TransportState;
use plumbline_dsp::decks::motion::{Cue, Motion};
use plumbline_dsp::decks::preview::{DeckState, Preview};
use plumbline_dsp::decks::settings::FARTHEST_S;

/// So near to the stop the deck is at it, seconds: half a sample at 48 kHz.
const STOP_S: f64 = 1e-5;

/// Where the deck is, in words.
pub fn offset_words(frame: &Frame) -> String {
    let Some(deck) = frame.decks.now() else {
        return "the decks wait for the host to run".to_owned();
    };
    let ms = deck.offset_s * 1000.0;
    let position = match signed(ms, 2).as_str() {
        "0.00" => "at the null point",
        text if text.starts_with('+') => "moving deck late",
        _ => "moving deck early",
    };
    format!("now {} ms: {position}", signed(ms, 2))
}

/// Everything that can be said, the most important first. `null_beats` is the position of the next null point in the song,
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
            .first_notch_hz()
            .map(|hz| format!("first notch {}", hertz(hz))),
    );
    let samples = frame.air().samples(deck.offset_s);
    all.push(format!("{} samples", signed(samples, 1)));
    all
}

/// What keeps the decks from being heard or from moving.
fn states(frame: &Frame, deck: &DeckState) -> Vec<String> {
    let decks = &frame.decks;
    let stop = stop_words(frame, deck);
    let engage = (!decks.mix.engage).then(|| "Engage is off: the fixed deck alone".to_owned());
    let pass = (decks.course.motion == Motion::Pass).then(|| pass_words(frame, deck));
    let stands =
        (decks.transport == TransportState::Stopped).then(|| "the transport is stopped".to_owned());
    [stop, engage, pass, stands].into_iter().flatten().collect()
}

/// The moving deck is as far from the fixed one as it can go: at the decks' own stop, or braked to the end of its range.
fn stop_words(frame: &Frame, deck: &DeckState) -> Option<String> {
    let course = &frame.decks.course;
    let (centre_s, farthest_s) = match course.motion {
        Motion::Drag => (course.offset_s, course.range_s),
        _ => (0.0, FARTHEST_S),
    };
    let away_s = deck.offset_s - centre_s;
    let side = if away_s > 0.0 { "late" } else { "early" };
    let at_stop = away_s.abs() >= farthest_s - STOP_S || deck.offset_s.abs() >= FARTHEST_S - STOP_S;
    at_stop.then(|| {
        let ms = plain(1000.0 * deck.offset_s.abs(), 1);
        format!("the moving deck is at its stop, {ms} ms {side}: it goes no farther")
    })
}

fn pass_words(frame: &Frame, deck: &DeckState) -> String {
    let course = &frame.decks.course;
    let cue = match (course.null_at, deck.cue) {
        (Some(_), _) => None,
        (None, Some(cue)) => Some(cue),
        (None, None) => return "the pass waits for Start pass or a null point at a bar".to_owned(),
    };
    let done = Preview::new(*deck, course).pass_progress();
    match (cue, done) {
        (Some(Cue::Beats(beats)), ..0.0) => {
            let bar = beats / deck.position.beats_per_bar;
            format!("the pass waits for bar {}", bar.round() as i64 + 1)
        }
        (_, ..0.0) => "the pass waits".to_owned(),
        (_, ..1.0) => "the pass runs".to_owned(),
        _ => "the pass is over".to_owned(),
    }
}

fn null_words(deck: &DeckState, beats: f64) -> String {
    let bars = (beats - deck.position.beats) / deck.position.beats_per_bar;
    format!("null point in {} bars", plain(bars.max(0.0), 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::decks::song_position::SongPosition;

    #[test]
    fn bars_until_the_null_point() {
        let deck = DeckState {
            position: SongPosition {
                beats: 10.0,
                beats_per_bar: 3.0,
                ..SongPosition::default()
            },
            ..DeckState::default()
        };
        assert_eq!(null_words(&deck, 16.0), "null point in 2.0 bars");
    }
}
