//! The top of the sheet: mode, monitor, output, bypass, and what the host runs.

use super::control::{Action, Control, Page};
use super::field::{Field, field};
use super::frame::Frame;
use super::ink::words;
use super::pen::inks;
use super::sheet::is_sweep;
use super::switch::{
    Choice, HEIGHT, Is, Pick, Switch, choice, natural, switch, text_width, width, word,
};
use super::unit::Unit;
use super::words::session;
use crate::desk::Paper;
use egui::{Align2, Popup, Rect, Ui, pos2, vec2};

const MODE: Choice = Choice {
    control: Control::Mode,
    title: "Mode",
    picks: &[
        Pick {
            word: "Align",
            tip: "Measures the pair and sets it right.",
        },
        Pick {
            word: "Sweep",
            tip: "Adds two decks after the alignment, and 12 ms of latency for them.",
        },
    ],
};

const MONITOR: Choice = Choice {
    control: Control::Monitor,
    title: "Monitor",
    picks: &[
        Pick {
            word: "Stereo",
            tip: "As it leaves the plugin.",
        },
        Pick {
            word: "Mono",
            tip: "Half the sum of both channels.",
        },
        Pick {
            word: "Difference",
            tip: "Half of what the channels do not share: the thinner the snare here, the better the match.",
        },
        Pick {
            word: "Spot",
            tip: "The side chain alone, in time with the rest.",
        },
    ],
};

const OUTPUT: Field = Field {
    control: Control::Output,
    title: "Output",
    unit: Unit::Decibels,
    tip: "Level after everything.",
};

const BYPASS: Switch = Switch {
    control: Control::Bypass,
    word: "Bypass",
    tip: "The input as it is, later by the latency.",
};

/// Room between groups, points.
const GAP: f32 = 12.0;

/// Height of the header in a window of this width.
pub fn height(window_width: f32) -> f32 {
    if is_wide(window_width) { 54.0 } else { 92.0 }
}

fn is_wide(window_width: f32) -> bool {
    window_width >= 1060.0
}

/// Draws it and follows the hand.
pub fn header(ui: &mut Ui, rect: Rect, frame: &Frame, page: Page, actions: &mut Vec<Action>) {
    let inks = inks(ui);
    ui.painter().hline(
        rect.x_range(),
        rect.max.y - 0.5,
        egui::Stroke::new(1.0, inks.rule),
    );
    let first_row = Rect::from_min_size(
        rect.min + vec2(20.0, 13.0),
        vec2(rect.width() - 40.0, HEIGHT),
    );
    let right = sides(ui, first_row, frame, page, actions);
    match is_wide(rect.width()) {
        true => {
            let left = monitor(ui, first_row.with_max_x(right.1), frame, actions);
            let room = Rect::from_x_y_ranges(right.0..=left - GAP, first_row.y_range());
            status(ui, room, frame);
        }
        false => {
            let second_row = first_row.translate(vec2(0.0, HEIGHT + 10.0));
            let left = monitor(ui, second_row, frame, actions);
            let room = Rect::from_x_y_ranges(second_row.min.x..=left - GAP, second_row.y_range());
            status(ui, room, frame);
        }
    }
}

/// Name and mode on the left, view and bypass on the right; where the room between them begins and ends.
fn sides(
    ui: &mut Ui,
    row: Rect,
    frame: &Frame,
    page: Page,
    actions: &mut Vec<Action>,
) -> (f32, f32) {
    let inks = inks(ui);
    let name = ui.painter().text(
        row.left_center(),
        Align2::LEFT_CENTER,
        "Plumbline",
        words(17.0),
        inks.ink,
    );
    let mode = Rect::from_min_size(
        pos2(name.max.x + 16.0, row.min.y),
        vec2(natural(ui, &MODE) + 8.0, HEIGHT),
    );
    choice(ui, mode, &MODE, &frame.knobs, actions);
    let left = match is_sweep(frame) {
        true => mode.max.x,
        false => {
            let placement = after(mode, width(ui, "Placement"), GAP);
            placement_button(ui, placement, page, actions);
            placement.max.x
        }
    };
    let bypass = before(row.max.x, row, width(ui, "Bypass"));
    switch(ui, bypass, &BYPASS, &frame.knobs, actions);
    let view = before(bypass.min.x - 8.0, row, width(ui, "View"));
    view_menu(ui, view, actions);
    (left + GAP, view.min.x - GAP)
}

fn after(rect: Rect, width: f32, gap: f32) -> Rect {
    Rect::from_min_size(
        rect.right_top() + vec2(gap, 0.0),
        vec2(width, rect.height()),
    )
}

fn before(right: f32, row: Rect, width: f32) -> Rect {
    Rect::from_min_max(pos2(right - width, row.min.y), pos2(right, row.max.y))
}

fn placement_button(ui: &Ui, rect: Rect, page: Page, actions: &mut Vec<Action>) {
    let (is, next) = match page {
        Page::Placement => (Is::Chosen, Page::Sheet),
        Page::Sheet => (Is::Open, Page::Placement),
    };
    let tip = "Large digits, to be read from the kit while the stands are moved.";
    let response = word(
        ui,
        rect,
        ui.scope_id().with("placement"),
        "Placement",
        "Placement",
        is,
    );
    if response.on_hover_text(tip).clicked() {
        actions.push(Action::Page(next));
    }
}

/// Paper and zoom: of the window, not of the sound.
fn view_menu(ui: &Ui, rect: Rect, actions: &mut Vec<Action>) {
    let response = word(
        ui,
        rect,
        ui.scope_id().with("view"),
        "View",
        "View",
        Is::Open,
    );
    let zoom = ui.ctx().zoom_factor();
    let dark = ui.visuals().dark_mode;
    Popup::menu(&response).show(|ui| {
        for (name, paper) in [("Light sheet", Paper::Light), ("Dark sheet", Paper::Dark)] {
            if ui.radio(dark == (paper == Paper::Dark), name).clicked() {
                actions.push(Action::Paper(paper));
            }
        }
        ui.separator();
        for percent in [75_u16, 100, 125, 150, 200] {
            let factor = f32::from(percent) / 100.0;
            let near = (zoom - factor).abs() < 0.01;
            if ui.radio(near, format!("Zoom {percent} %")).clicked() {
                actions.push(Action::Zoom(factor));
            }
        }
    });
    response.on_hover_text("Light or dark sheet, and zoom. Kept with the session.");
}

/// Monitor and output at the right end of the row; where they begin.
fn monitor(ui: &mut Ui, row: Rect, frame: &Frame, actions: &mut Vec<Action>) -> f32 {
    let output = before(row.max.x, row, 78.0);
    field(ui, output, &OUTPUT, frame, actions);
    let picks = before(output.min.x - GAP, row, natural(ui, &MONITOR));
    choice(ui, picks, &MONITOR, &frame.knobs, actions);
    let caption = text_width(ui, "Monitor", words(12.0));
    let at = picks.left_center() - vec2(8.0, 0.0);
    let soft = inks(ui).soft;
    ui.painter()
        .text(at, Align2::RIGHT_CENTER, "Monitor", words(12.0), soft);
    at.x - caption
}

/// Rate and latency; without the rate where the room is short.
fn status(ui: &Ui, room: Rect, frame: &Frame) {
    let long = session(frame);
    let short = long.split(" · ").last().unwrap_or_default().to_owned();
    let fits = |text: &&String| text_width(ui, text, words(12.0)) <= room.width();
    let inks = inks(ui);
    if let Some(text) = [&long, &short].into_iter().find(fits) {
        ui.painter().text(
            room.left_center(),
            Align2::LEFT_CENTER,
            text,
            words(12.0),
            inks.soft,
        );
    }
    let response = ui.interact(room, ui.scope_id().with("session"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &long));
    response.on_hover_text(&long);
}
