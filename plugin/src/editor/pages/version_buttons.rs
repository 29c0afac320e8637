//! The buttons beside the controls: undo and redo, the two settings, and the presets.

use crate::editor::action::{Action, Page};
use crate::editor::frame::{Frame, Side};
use crate::editor::widgets::{ButtonState, HEIGHT, text_button};
use egui::{Key, KeyboardShortcut, Modifiers, Rect, Ui, pos2, vec2};

/// Room between two rows, points.
const GAP: f32 = 6.0;
/// Room between two buttons of a row, points.
const BETWEEN: f32 = 4.0;
/// Width of a side's button, points.
const SIDE: f32 = 26.0;
/// Least width of a row, points.
pub const VERSION_WIDTH: f32 = 128.0;
/// Height of both rows, points.
pub const VERSION_ROWS: f32 = 2.0 * (HEIGHT + GAP);

const UNDO: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::Z);
const REDO: KeyboardShortcut =
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);

const UNDO_TIP: &str = "Takes back the last thing that was moved here (Ctrl+Z).";
const REDO_TIP: &str = "Does again what was taken back (Ctrl+Shift+Z).";

/// One button: its word, its name without the drawing, how wide it is, whether it is pressed, what it does, its tip.
struct VersionButton {
    word: &'static str,
    name: &'static str,
    /// Points.
    width: f32,
    state: ButtonState,
    action: Option<Action>,
    tip: &'static str,
}

/// Draws both rows under `above` and follows the user.
pub fn version_buttons(
    ui: &mut Ui,
    above: Rect,
    frame: &Frame,
    page: Page,
    actions: &mut Vec<Action>,
) {
    keys(ui, actions);
    let versions = &frame.versions;
    let half = (above.width() - BETWEEN) / 2.0;
    let step = |word, steps, action, tip| VersionButton {
        word,
        name: word,
        width: half,
        state: ButtonState::possible(steps > 0),
        action: (steps > 0).then_some(action),
        tip,
    };
    let steps = [
        step("Undo", versions.undo, Action::Undo, UNDO_TIP),
        step("Redo", versions.redo, Action::Redo, REDO_TIP),
    ];
    row(ui, above, 1.0, steps.into(), actions);
    let side = |side: Side, word: &'static str, name: &'static str| VersionButton {
        word,
        name,
        width: SIDE,
        state: ButtonState::of(versions.side == side),
        action: (versions.side != side).then_some(Action::Side(side)),
        tip: "Two settings side by side; they are kept until the plugin is closed.",
    };
    let presets = VersionButton {
        word: "Presets",
        name: "Presets",
        width: above.width() - 2.0 * (SIDE + BETWEEN),
        state: ButtonState::of(page == Page::Presets),
        action: Some(Action::Page(match page {
            Page::Presets => Page::Drawings,
            _ => Page::Presets,
        })),
        tip: "Starting points for both modes, and presets of your own.",
    };
    let buttons = [
        side(Side::A, "A", "Settings A"),
        side(Side::B, "B", "Settings B"),
        presets,
    ];
    row(ui, above, 2.0, buttons.into(), actions);
}

fn row(ui: &Ui, above: Rect, number: f32, buttons: Vec<VersionButton>, actions: &mut Vec<Action>) {
    let top = above.min.y + number * (HEIGHT + GAP);
    let mut left = above.min.x;
    for button in buttons {
        let rect = Rect::from_min_size(pos2(left, top), vec2(button.width, HEIGHT));
        left += button.width + BETWEEN;
        let id = ui.scope_id().with(button.name);
        let response = text_button(ui, rect, id, button.word, button.name, button.state);
        if response.on_hover_text(button.tip).clicked() {
            actions.extend(button.action);
        }
    }
}

/// While nothing is being typed.
fn keys(ui: &mut Ui, actions: &mut Vec<Action>) {
    if ui.ctx().text_edit_focused() {
        return;
    }
    // The longer shortcut first: the shorter one is a part of it.
    if ui.input_mut(|input| input.consume_shortcut(&REDO)) {
        actions.push(Action::Redo);
    } else if ui.input_mut(|input| input.consume_shortcut(&UNDO)) {
        actions.push(Action::Undo);
    }
}
