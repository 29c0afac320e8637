//! Switches and choices: one button, or a row of buttons of which one is selected.

use super::button::{ButtonState, button_width, text_button};
use crate::editor::action::{Action, set_at_once};
use crate::editor::frame::{Control, Knobs};
use egui::{Rect, Ui, pos2};

/// One option of a choice.
#[derive(Clone, Copy, Debug)]
pub struct ChoiceOption {
    pub word: &'static str,
    pub tip: &'static str,
}

/// One of several.
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    pub control: Control,
    pub title: &'static str,
    pub options: &'static [ChoiceOption],
}

/// On or off.
#[derive(Clone, Copy, Debug)]
pub struct Switch {
    pub control: Control,
    pub word: &'static str,
    pub tip: &'static str,
}

/// A switch of a parameter.
pub fn switch(ui: &Ui, rect: Rect, spec: &Switch, knobs: &Knobs, actions: &mut Vec<Action>) {
    let on = knobs.is_on(spec.control);
    let id = ui.scope_id().with(spec.control);
    let response = text_button(ui, rect, id, spec.word, spec.word, ButtonState::of(on))
        .on_hover_text(spec.tip);
    if response.clicked() {
        actions.extend(set_at_once(spec.control, if on { 0.0 } else { 1.0 }));
    }
}

/// A row of buttons of which one is selected.
pub fn choice(ui: &Ui, rect: Rect, spec: &Choice, knobs: &Knobs, actions: &mut Vec<Action>) {
    let chosen = knobs.choice(spec.control);
    let spare = rect.width() - choice_width(ui, spec);
    let share = spare / spec.options.len() as f32;
    let mut left = rect.min.x;
    for (index, option) in spec.options.iter().enumerate() {
        let width = button_width(ui, option.word) + share;
        let part = Rect::from_min_max(pos2(left, rect.min.y), pos2(left + width + 1.0, rect.max.y));
        left += width;
        let id = ui.scope_id().with((spec.control, index));
        let name = format!("{} {}", spec.title, option.word);
        let state = ButtonState::of(index == chosen);
        let response =
            text_button(ui, part, id, option.word, &name, state).on_hover_text(option.tip);
        if response.clicked() && index != chosen {
            actions.extend(set_at_once(spec.control, index as f32));
        }
    }
}

/// Width of a choice whose buttons are not squeezed.
pub fn choice_width(ui: &Ui, spec: &Choice) -> f32 {
    spec.options
        .iter()
        .map(|option| button_width(ui, option.word))
        .sum()
}
