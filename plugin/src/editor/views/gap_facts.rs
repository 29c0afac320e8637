//! The facts under the gap: hits, certainty, polarity, first notch, correlation.

use super::correlation_scales::correlation_scales;
use crate::editor::drawing::{Canvas, describe, signed, text_font};
use crate::editor::frame::Frame;
use crate::editor::wording::{
    certainty, correlation_words, first_notch, hits, last_refused, names, polarity_word,
    refused_words,
};
use egui::{Align2, Pos2, Rect, Role, Ui, pos2, vec2};
use plumbline_dsp::measurement::{Lag, Polarity};

/// A line of facts, points.
const LINE: f32 = 22.0;
/// From this height on the panel has room for the correlation's scales, points.
const AMPLE: f32 = 272.0;
/// Below this one the facts have two lines, so that the verdict has three, points.
const SMALL: f32 = 190.0;

/// How much room the panel has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Space {
    /// For the correlation's scales.
    Ample,
    /// For the correlation in words.
    Tight,
    /// For what decides alone.
    Small,
}

impl Space {
    /// Of a panel of this height.
    pub fn of(height: f32) -> Self {
        match height {
            height if height >= AMPLE => Self::Ample,
            height if height >= SMALL => Self::Tight,
            _ => Self::Small,
        }
    }
}

/// Height of the facts.
pub fn facts_height(frame: &Frame, space: Space) -> f32 {
    match (frame.lag(), space) {
        (Some(_), Space::Ample) => 5.3 * LINE,
        (Some(_), Space::Tight) => 3.0 * LINE,
        (Some(_), Space::Small) => 2.0 * LINE,
        (None, _) => LINE,
    }
}

/// Draws them and names them for screen readers.
pub fn facts(ui: &Ui, canvas: &Canvas, rect: Rect, frame: &Frame, space: Space) {
    let line = |number: f32| rect.min.y + LINE * (number + 0.5);
    counts(canvas, rect, line(0.0), frame);
    if let Some(lag) = frame.lag() {
        match space {
            Space::Small => polarity_and_correlation(canvas, rect, line(1.0), frame, &lag),
            Space::Ample | Space::Tight => polarity_and_null(canvas, rect, line(1.0), frame, &lag),
        }
        match space {
            Space::Small => {}
            Space::Ample => {
                correlation_scales(canvas, rect, [2.0, 3.0, 4.0].map(line), frame);
            }
            Space::Tight => {
                let at = pos2(rect.min.x, line(2.0));
                fact(canvas, at, "Correlation", &correlation_words(frame));
            }
        }
    }
    describe_facts(ui, rect, frame);
}

fn polarity_and_null(canvas: &Canvas, rect: Rect, y: f32, frame: &Frame, lag: &Lag) {
    let word = polarity_word(lag.polarity);
    fact(canvas, pos2(rect.min.x, y), "Polarity", word);
    let before = first_notch(lag.attack_s, lag.polarity);
    let after = first_notch(
        frame.left_s().unwrap_or(0.0),
        corrected(lag.polarity, frame.plan.flip),
    );
    let both = format!("{before}, after {after}");
    let column = pos2(rect.min.x + (0.33 * rect.width()).max(124.0), y);
    // Seven points a letter.
    let letters = (rect.max.x - column.x) as usize / 7;
    let fits = "First notch".len() + both.chars().count() < letters;
    let value = if fits { &both } else { &before };
    fact(canvas, column, "First notch", value);
}

/// Where there is one line for both.
fn polarity_and_correlation(canvas: &Canvas, rect: Rect, y: f32, frame: &Frame, lag: &Lag) {
    let word = polarity_word(lag.polarity);
    fact(canvas, pos2(rect.min.x, y), "Polarity", word);
    let Some(comparison) = &frame.comparison else {
        return;
    };
    let [before, after] = [&comparison.before, &comparison.after].map(|pair| pair.correlation);
    let both = format!("{} → {}", signed(before, 2), signed(after, 2));
    let value = canvas.value(pos2(rect.max.x, y), Align2::RIGHT_CENTER, both);
    let at = pos2(value.min.x - 8.0, y);
    canvas.caption(at, Align2::RIGHT_CENTER, "Correlation");
}

/// How the two stand once the second has been reversed, or not.
fn corrected(polarity: Polarity, flip: bool) -> Polarity {
    match (polarity, flip) {
        (Polarity::Same, true) => Polarity::Inverted,
        (Polarity::Inverted, true) => Polarity::Same,
        (polarity, _) => polarity,
    }
}

/// A caption and its value.
fn fact(canvas: &Canvas, at: Pos2, caption: &str, value: &str) {
    let caption = canvas.caption(at, Align2::LEFT_CENTER, caption);
    let at = pos2(caption.max.x + 8.0, at.y);
    canvas.value(at, Align2::LEFT_CENTER, value);
}

/// How many hits counted, why others did not, and how sure the gap is.
fn counts(canvas: &Canvas, rect: Rect, y: f32, frame: &Frame) {
    let at = pos2(rect.min.x, y);
    let count = canvas.value(at, Align2::LEFT_CENTER, hits(frame.hits()));
    let refused = refused_words(&frame.measurement().refused);
    let right = match frame.lag() {
        Some(lag) => sure(canvas, rect, y, &lag),
        None => rect.max.x,
    };
    if refused.is_empty() {
        return;
    }
    let room = right - count.max.x - 24.0;
    let total = frame.measurement().refused.total();
    let long = format!("refused: {refused}");
    let texts = [long, format!("{total} refused")];
    let fits = |text: &&String| width(canvas, text) <= room;
    if let Some(text) = texts.iter().find(fits) {
        canvas.caption(pos2(count.max.x + 12.0, y), Align2::LEFT_CENTER, text);
    }
}

/// Width of a caption.
fn width(canvas: &Canvas, text: &str) -> f32 {
    let color = canvas.palette.muted;
    let galley = canvas
        .painter
        .layout_no_wrap(text.to_owned(), text_font(12.0), color);
    galley.size().x
}

/// The word and its bar; gives back its left edge.
fn sure(canvas: &Canvas, rect: Rect, y: f32, lag: &Lag) -> f32 {
    let whole = Rect::from_min_size(pos2(rect.max.x - 72.0, y - 4.0), vec2(72.0, 8.0));
    canvas.fill(whole, canvas.palette.grid);
    let mut part = whole;
    part.set_width(whole.width() * lag.confidence.clamp(0.0, 1.0) as f32);
    canvas.fill(part, canvas.palette.foreground);
    let at = pos2(whole.min.x - 8.0, y);
    canvas
        .caption(at, Align2::RIGHT_CENTER, certainty(lag.confidence))
        .min
        .x
}

fn describe_facts(ui: &Ui, rect: Rect, frame: &Frame) {
    let mut text = hits(frame.hits());
    if let Some(lag) = frame.lag() {
        let late = names(frame).late;
        text += &format!(
            ", {}, polarity of the {late} {}, correlation before {}",
            certainty(lag.confidence),
            polarity_word(lag.polarity),
            correlation_words(frame)
        );
    }
    text.extend(last_refused(frame).map(|why| format!("; {why}")));
    let response = describe(ui, rect, "facts", Role::Label, &text);
    let tip = "How many hits counted and why others did not, how sure the gap is, and how alike the two are before \
               and after. Correct decides which of them is heard.";
    response.on_hover_text(tip);
}
