//! What a window does to whole settings: presets, undo and redo, and the two sides.

use super::action::{Action, set_at_once};
use super::frame::{PresetStatus, Versions};
use super::history::Value;
use super::preset_settings::{changes, held_values};
use super::window::{Window, locked};
use crate::exchange::Display;
use crate::presets::{Preset, STARTING_POINTS, held};
use std::sync::Arc;

impl Window {
    /// What can be undone, and which side is heard.
    pub(super) fn versions(&self) -> Versions {
        let sides = locked(&self.scene.sides);
        let (undo, redo) = sides.history.steps();
        Versions {
            undo,
            redo,
            side: sides.side,
            preset: self.scene.presets.status(),
        }
    }

    pub(super) fn change_version(&mut self, action: Action) {
        match action {
            Action::CallUp(place) => {
                if let Some(start) = STARTING_POINTS.get(place) {
                    self.call_up(&start.preset());
                }
            }
            Action::SavePreset => self.save_preset(),
            Action::OpenPreset => {
                let display = Arc::clone(&self.scene.display);
                self.scene.presets.open(move || display.request_repaint());
            }
            Action::Undo => {
                let values = locked(&self.scene.sides).history.undo();
                self.apply(&values);
            }
            Action::Redo => {
                let values = locked(&self.scene.sides).history.redo();
                self.apply(&values);
            }
            Action::Side(side) => {
                let now = held_values(&self.scene.params);
                let values = locked(&self.scene.sides).go_to(side, now);
                self.apply(&values);
            }
            Action::CopySide => {
                let now = held_values(&self.scene.params);
                locked(&self.scene.sides).copy_to_other(now);
            }
            _ => {}
        }
    }

    /// One step of the history, whatever it holds.
    pub(super) fn call_up(&mut self, preset: &Preset) {
        let status = match changes(preset, &self.scene.params) {
            Ok(changes) => {
                let values: Vec<Value> = changes
                    .iter()
                    .map(|change| (change.control, change.after))
                    .collect();
                locked(&self.scene.sides).history.record(changes);
                self.apply(&values);
                PresetStatus::CalledUp(preset.name.clone())
            }
            Err(why) => PresetStatus::Failed(format!("{}: {why}", preset.name)),
        };
        self.scene.presets.set_status(status);
    }

    /// Sets values with whole gestures, without a step in the history.
    fn apply(&self, values: &[Value]) {
        let moved = values.iter();
        for (control, value) in
            moved.filter(|(control, value)| self.scene.value(*control) != *value)
        {
            for action in set_at_once(*control, *value) {
                self.tell_host(action);
            }
        }
    }

    fn save_preset(&self) {
        let settings = held(&*self.scene.params);
        let preset = move |name: &str| Preset {
            name: name.to_owned(),
            about: String::new(),
            settings,
        };
        let display = Arc::clone(&self.scene.display);
        let presets = &self.scene.presets;
        presets.save(preset, move || display.request_repaint());
    }
}
