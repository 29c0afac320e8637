//! A number on a page: what it is of, where it stands, and how far a step goes.

use super::unit::Unit;
use crate::editor::action::{Action, set_at_once};
use crate::editor::frame::{Air, Control, Frame, Knob};
use egui::Ui;

/// What a number field shows.
#[derive(Clone, Copy, Debug)]
pub struct NumberField {
    pub control: Control,
    pub title: &'static str,
    pub unit: Unit,
    pub tip: &'static str,
}

/// The number as it stands.
pub struct Number<'a> {
    pub spec: &'a NumberField,
    pub knob: Knob,
    pub air: Air,
}

impl<'a> Number<'a> {
    /// In one frame.
    pub fn new(spec: &'a NumberField, frame: &Frame) -> Self {
        Self {
            spec,
            knob: frame.knobs.get(spec.control),
            air: frame.air(),
        }
    }

    /// With its unit.
    pub fn write(&self, value: f32) -> String {
        self.spec.unit.write(value, &self.air)
    }

    /// The nearest value that the parameter can have.
    pub fn within(&self, value: f32) -> f32 {
        value.clamp(self.knob.min, self.knob.max)
    }

    /// A whole gesture to a value.
    pub fn set(&self, value: f32) -> [Action; 3] {
        set_at_once(self.spec.control, value)
    }

    /// One step as the modifier keys say.
    pub fn step(&self, ui: &Ui) -> f32 {
        let steps = self.spec.unit.steps(&self.air);
        let modifiers = ui.input(|input| input.modifiers);
        match (modifiers.shift, modifiers.alt) {
            (true, _) => steps.fine,
            (_, true) => steps.other,
            _ => steps.plain,
        }
    }
}
