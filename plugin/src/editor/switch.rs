//! Switches and choices: words in boxes, the chosen one turned to ink.

use super::control::{Action, Control, Knobs, set_at_once};
use super::ink::words;
use super::pen::inks;
use egui::{
    Align2, CursorIcon, FontId, Id, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2,
};

/// Height of everything that a hand can take.
pub const HEIGHT: f32 = 28.0;
/// Around a word, both sides together.
const PADDING: f32 = 16.0;

/// One word of a choice.
#[derive(Clone, Copy, Debug)]
pub struct Pick {
    pub word: &'static str,
    pub tip: &'static str,
}

/// One of several.
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    pub control: Control,
    pub title: &'static str,
    pub picks: &'static [Pick],
}

/// On or off.
#[derive(Clone, Copy, Debug)]
pub struct Switch {
    pub control: Control,
    pub word: &'static str,
    pub tip: &'static str,
}

/// Whether a word stands for what is so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Is {
    Chosen,
    Open,
}

impl Is {
    pub fn when(condition: bool) -> Self {
        if condition { Self::Chosen } else { Self::Open }
    }
}

/// A word in a box that can be pressed. `name` is what it is called without the drawing around it.
pub fn word(ui: &Ui, rect: Rect, id: Id, text: &str, name: &str, is: Is) -> Response {
    let response = ui
        .interact(rect, id, Sense::click())
        .on_hover_cursor(CursorIcon::PointingHand);
    let chosen = is == Is::Chosen;
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, name));
    let inks = inks(ui);
    let (fill, ink) = match is {
        Is::Chosen => (inks.ink, inks.desk),
        Is::Open => (inks.paper, inks.ink),
    };
    let edge = Stroke::new(1.0, inks.edge);
    ui.painter().rect(rect, 2.0, fill, edge, StrokeKind::Inside);
    if response.has_focus() || response.hovered() {
        outline(ui, rect, is);
    }
    ui.painter()
        .text(rect.center(), Align2::CENTER_CENTER, text, words(13.0), ink);
    response
}

/// Shows where the keyboard or the mouse is.
fn outline(ui: &Ui, rect: Rect, is: Is) {
    let inks = inks(ui);
    let ink = match is {
        Is::Chosen => inks.desk,
        Is::Open => inks.ink,
    };
    let stroke = Stroke::new(1.5, ink);
    ui.painter()
        .rect_stroke(rect.shrink(2.0), 1.0, stroke, StrokeKind::Inside);
}

/// Shows a control's focus around its box.
pub fn focus(ui: &Ui, rect: Rect) {
    outline(ui, rect, Is::Open);
}

/// A switch of a parameter.
pub fn switch(ui: &Ui, rect: Rect, spec: &Switch, knobs: &Knobs, actions: &mut Vec<Action>) {
    let on = knobs.is_on(spec.control);
    let id = ui.scope_id().with(spec.control);
    let response = word(ui, rect, id, spec.word, spec.word, Is::when(on)).on_hover_text(spec.tip);
    if response.clicked() {
        actions.extend(set_at_once(spec.control, if on { 0.0 } else { 1.0 }));
    }
}

/// A row of words of which one holds.
pub fn choice(ui: &Ui, rect: Rect, spec: &Choice, knobs: &Knobs, actions: &mut Vec<Action>) {
    let chosen = knobs.choice(spec.control);
    let spare = rect.width() - natural(ui, spec);
    let share = spare / spec.picks.len() as f32;
    let mut left = rect.min.x;
    for (index, pick) in spec.picks.iter().enumerate() {
        let width = width(ui, pick.word) + share;
        let part = Rect::from_min_max(pos2(left, rect.min.y), pos2(left + width + 1.0, rect.max.y));
        left += width;
        let id = ui.scope_id().with((spec.control, index));
        let name = format!("{} {}", spec.title, pick.word);
        let is = Is::when(index == chosen);
        let response = word(ui, part, id, pick.word, &name, is).on_hover_text(pick.tip);
        if response.clicked() && index != chosen {
            actions.extend(set_at_once(spec.control, index as f32));
        }
    }
}

/// Width of a choice whose words are not squeezed.
pub fn natural(ui: &Ui, spec: &Choice) -> f32 {
    spec.picks.iter().map(|pick| width(ui, pick.word)).sum()
}

/// Width of a word in its box.
pub fn width(ui: &Ui, text: &str) -> f32 {
    text_width(ui, text, words(13.0)) + PADDING
}

/// Width of lettering.
pub fn text_width(ui: &Ui, text: &str, font: FontId) -> f32 {
    let ink = inks(ui).ink;
    ui.painter()
        .layout_no_wrap(text.to_owned(), font, ink)
        .size()
        .x
        .ceil()
}
