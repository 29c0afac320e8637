//! What the recall sheet says beside the figures: names, units and sides, the gaps to come back to, free lines.

use crate::editor::action::{Action, Note};
use crate::editor::drawing::{Canvas, panel, plain, signed};
use crate::editor::frame::{Channels, Frame, SheetStatus};
use crate::editor::widgets::{ButtonState, HEIGHT, button_width, text_button, text_entry};
use crate::editor::wording::length;
use crate::session::{Handed, Lengths, Line, Overhead, Seat};
use egui::{Align2, Rect, Ui, pos2, vec2};

/// Height of a line with its caption, points.
const LINE: f32 = 34.0;
/// Width of the captions, points.
const CAPTION: f32 = 92.0;

/// Draws it and follows the user.
pub fn recall_page(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let room = rect.shrink2(vec2(20.0, 12.0));
    let half = room.center().x;
    let left = room.with_max_x(half - 6.0);
    let right = room.with_min_x(half + 6.0);
    let inner = panel(ui, left, "Set-up");
    set_up(ui, inner, frame, actions);
    let inner = panel(ui, right, "Notes");
    notes(ui, inner, frame, actions);
}

/// Lines from the top of a panel on.
struct Lines {
    room: Rect,
    next: f32,
}

impl Lines {
    fn new(room: Rect) -> Self {
        let next = room.min.y;
        Self { room, next }
    }

    /// The next one: its caption is drawn, the rest is given back.
    fn line(&mut self, ui: &Ui, caption: &str) -> Rect {
        let top = pos2(self.room.min.x, self.next);
        let rect = Rect::from_min_max(top, pos2(self.room.max.x, self.next + HEIGHT));
        self.next += LINE;
        let canvas = Canvas::new(ui, rect);
        canvas.caption(rect.left_center(), Align2::LEFT_CENTER, caption);
        rect.with_min_x(rect.min.x + CAPTION)
    }
}

fn set_up(ui: &mut Ui, room: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let mut lines = Lines::new(room);
    if frame.activation.channels == Channels::Pair {
        for (caption, overhead, name) in [
            ("First is", Overhead::First, &frame.notes.first),
            ("Second is", Overhead::Second, &frame.notes.second),
        ] {
            let rect = lines.line(ui, caption);
            let rect = rect.with_max_x(rect.max.x.min(rect.min.x + 180.0));
            let id = ui.scope_id().with(caption);
            let typed = text_entry(ui, rect, id, caption, name);
            actions.extend(typed.map(|name| Action::Note(Note::NameOverhead(overhead, name))));
        }
    }
    let lengths = [
        ("Centimetres", Lengths::Centimetres),
        ("Inches", Lengths::Inches),
    ];
    let rect = lines.line(ui, "Lengths in");
    options(
        ui,
        rect,
        &lengths,
        frame.window.lengths,
        Action::Lengths,
        actions,
    );
    let seats = [("Audience", Seat::Audience), ("Stool", Seat::Stool)];
    let rect = lines.line(ui, "Seen from");
    options(ui, rect, &seats, frame.window.seat, Action::Seat, actions);
    let hands = [
        ("Right-handed", Handed::Right),
        ("Left-handed", Handed::Left),
    ];
    let rect = lines.line(ui, "Kit");
    options(
        ui,
        rect,
        &hands,
        frame.window.handed,
        Action::Handed,
        actions,
    );
    if frame.activation.channels == Channels::Pair {
        target(ui, &mut lines, frame, actions);
    }
}

/// A row of buttons of which one is selected.
fn options<T: Copy + PartialEq>(
    ui: &Ui,
    rect: Rect,
    all: &[(&str, T)],
    chosen: T,
    action: fn(T) -> Action,
    actions: &mut Vec<Action>,
) {
    let mut left = rect.min.x;
    for (word, value) in all {
        let size = vec2(button_width(ui, word), rect.height());
        let at = Rect::from_min_size(pos2(left, rect.min.y), size);
        left += size.x - 1.0;
        let id = ui.scope_id().with(*word);
        let state = ButtonState::of(*value == chosen);
        if text_button(ui, at, id, word, word, state).clicked() && *value != chosen {
            actions.push(action(*value));
        }
    }
}

fn target(ui: &Ui, lines: &mut Lines, frame: &Frame, actions: &mut Vec<Action>) {
    let rect = lines.line(ui, "Target");
    let mut left = rect.min.x;
    let mut button = |word: &str, note: Note| {
        let size = vec2(button_width(ui, word), rect.height());
        let at = Rect::from_min_size(pos2(left, rect.min.y), size);
        left += size.x + 6.0;
        let id = ui.scope_id().with(word);
        if text_button(ui, at, id, word, word, ButtonState::Off).clicked() {
            actions.push(Action::Note(note));
        }
    };
    if frame.lag().is_some() {
        button("Keep as target", Note::KeepTarget);
    }
    if frame.notes.has_target() {
        button("Zero again", Note::DropTarget);
    }
    let rest = lines.line(ui, "");
    let canvas = Canvas::new(ui, rest);
    let at = rest.left_center();
    canvas.caption(at, Align2::LEFT_CENTER, target_words(frame));
}

/// What Placement guides the stands back to.
fn target_words(frame: &Frame) -> String {
    let drums = frame.rows().filter_map(|drum| {
        let target_s = frame.notes.target_s(drum)?;
        let name = frame.drum_name(drum);
        Some(format!("{name} {}", length(&frame.air(), target_s)))
    });
    let drums: Vec<String> = drums.take(3).collect();
    match (frame.notes.has_target(), drums.is_empty()) {
        (false, _) => "zero: the overheads stand together".to_owned(),
        (true, true) => "kept; none of its drums is heard yet".to_owned(),
        (true, false) => drums.join(", "),
    }
}

fn notes(ui: &mut Ui, room: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let mut lines = Lines::new(room);
    for (caption, line) in [
        ("Microphones", Line::Microphones),
        ("Heights", Line::Heights),
        ("Remarks", Line::Remarks),
    ] {
        let rect = lines.line(ui, caption);
        let id = ui.scope_id().with(caption);
        let typed = text_entry(ui, rect, id, caption, frame.notes.line(line));
        actions.extend(typed.map(|text| Action::Note(Note::Write(line, text))));
    }
    for (caption, value) in figures(frame) {
        let rect = lines.line(ui, caption);
        Canvas::new(ui, rect).value(rect.left_center(), Align2::LEFT_CENTER, value);
    }
    let rect = lines.line(ui, "Sheet");
    let word = "Save recall sheet";
    let size = vec2(button_width(ui, word), rect.height());
    let at = Rect::from_min_size(rect.min, size);
    let id = ui.scope_id().with(word);
    if text_button(ui, at, id, word, word, ButtonState::Off).clicked() {
        actions.push(Action::SaveSheet);
    }
    if let Some(text) = sheet_words(&frame.sheet) {
        let rest = rect.with_min_x(at.max.x + 10.0);
        let canvas = Canvas::new(ui, rest);
        canvas.caption(rest.left_center(), Align2::LEFT_CENTER, text);
    }
}

/// What has become of the last sheet.
fn sheet_words(status: &SheetStatus) -> Option<String> {
    match status {
        SheetStatus::None => None,
        SheetStatus::Asking => Some("choose a place for it".to_owned()),
        SheetStatus::Saved(path) => Some(format!("saved: {path}")),
        SheetStatus::Failed(why) => Some(format!("not saved: {why}")),
    }
}

/// The figures that the sheet has as well.
fn figures(frame: &Frame) -> Vec<(&'static str, String)> {
    let plan = &frame.plan;
    let turned = if plan.flip { ", reversed" } else { "" };
    let samples = |seconds: f64| format!("{} samples", signed(frame.air().samples(seconds), 2));
    let mut figures = match frame.activation.channels {
        Channels::Pair => vec![
            ("First delay", samples(plan.first_s)),
            ("Second delay", samples(plan.second_s) + turned),
        ],
        Channels::Mono => vec![("Delay", samples(plan.first_s) + turned)],
    };
    if let Some(kit) = frame.measurement().kit {
        let aim = if plan.flip { kit.turned } else { kit.upright };
        let gap = length(&frame.air(), aim.gap_s);
        let losses = [aim.loss_db, kit.recorded_db].map(|loss_db| plain(loss_db, 1));
        figures.push((
            "Match Kit",
            format!("{gap}: {} dB, was {}", losses[0], losses[1]),
        ));
    }
    figures
}
