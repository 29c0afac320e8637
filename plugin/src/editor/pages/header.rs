//! The top of the sheet: mode, monitor, output, bypass, and what the host runs.

use super::content::is_sweep;
use crate::editor::action::{Action, Page};
use crate::editor::drawing::{palette, text_font};
use crate::editor::frame::{Control, Frame};
use crate::editor::widgets::{
    ButtonState, Choice, ChoiceOption, HEIGHT, NumberField, Switch, Unit, button_width, choice,
    choice_width, number_field, switch, text_button, text_width,
};
use crate::editor::wording::rate_and_latency;
use crate::session::Theme;
use egui::{Align2, Popup, Rect, Ui, pos2, vec2};

const MODE: Choice = Choice {
    control: Control::Mode,
    title: "Mode",
    options: &[
        ChoiceOption {
            word: "Align",
            tip: "Measures the pair and sets it right.",
        },
        ChoiceOption {
            word: "Sweep",
            tip: "Adds two decks after the alignment, and 12 ms of latency for them.",
        },
    ],
};

const MONITOR: Choice = Choice {
    control: Control::Monitor,
    title: "Monitor",
    options: &[
        ChoiceOption {
            word: "Stereo",
            tip: "As it leaves the plugin.",
        },
        ChoiceOption {
            word: "Mono",
            tip: "Half the sum of both channels.",
        },
        ChoiceOption {
            word: "Difference",
            tip: "Half of what the channels do not share: the thinner the snare here, the better the match.",
        },
        ChoiceOption {
            word: "Spot",
            tip: "The side chain alone, in time with the rest.",
        },
    ],
};

const OUTPUT: NumberField = NumberField {
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
pub fn header_height(window_width: f32) -> f32 {
    if is_wide(window_width) { 54.0 } else { 92.0 }
}

fn is_wide(window_width: f32) -> bool {
    window_width >= 1060.0
}

/// Draws it and follows the user.
pub fn header(ui: &mut Ui, rect: Rect, frame: &Frame, page: Page, actions: &mut Vec<Action>) {
    let palette = palette(ui);
    ui.painter().hline(
        rect.x_range(),
        rect.max.y - 0.5,
        egui::Stroke::new(1.0, palette.outline),
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
    let palette = palette(ui);
    let name = ui.painter().text(
        row.left_center(),
        Align2::LEFT_CENTER,
        "Plumbline",
        text_font(17.0),
        palette.foreground,
    );
    let mode = Rect::from_min_size(
        pos2(name.max.x + 16.0, row.min.y),
        vec2(choice_width(ui, &MODE) + 8.0, HEIGHT),
    );
    choice(ui, mode, &MODE, &frame.knobs, actions);
    let left = match is_sweep(frame) {
        true => mode.max.x,
        false => {
            let placement = after(mode, button_width(ui, "Placement"), GAP);
            placement_button(ui, placement, page, actions);
            placement.max.x
        }
    };
    let bypass = before(row.max.x, row, button_width(ui, "Bypass"));
    switch(ui, bypass, &BYPASS, &frame.knobs, actions);
    let view = before(bypass.min.x - 8.0, row, button_width(ui, "View"));
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
        Page::Placement => (ButtonState::On, Page::Drawings),
        Page::Drawings => (ButtonState::Off, Page::Placement),
    };
    let tip = "Large digits, to be read from the kit while the stands are moved.";
    let response = text_button(
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

/// Theme and zoom: of the window, not of the sound.
fn view_menu(ui: &Ui, rect: Rect, actions: &mut Vec<Action>) {
    let response = text_button(
        ui,
        rect,
        ui.scope_id().with("view"),
        "View",
        "View",
        ButtonState::Off,
    );
    let zoom = ui.ctx().zoom_factor();
    let dark = ui.visuals().dark_mode;
    Popup::menu(&response).show(|ui| {
        for (name, theme) in [("Light sheet", Theme::Light), ("Dark sheet", Theme::Dark)] {
            if ui.radio(dark == (theme == Theme::Dark), name).clicked() {
                actions.push(Action::Theme(theme));
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
    number_field(ui, output, &OUTPUT, frame, actions);
    let options = before(output.min.x - GAP, row, choice_width(ui, &MONITOR));
    choice(ui, options, &MONITOR, &frame.knobs, actions);
    let caption = text_width(ui, "Monitor", text_font(12.0));
    let at = options.left_center() - vec2(8.0, 0.0);
    let muted = palette(ui).muted;
    ui.painter()
        .text(at, Align2::RIGHT_CENTER, "Monitor", text_font(12.0), muted);
    at.x - caption
}

/// Rate and latency; without the rate where the room is short.
fn status(ui: &Ui, room: Rect, frame: &Frame) {
    let long = rate_and_latency(frame);
    let short = long.split(" · ").last().unwrap_or_default().to_owned();
    let fits = |text: &&String| text_width(ui, text, text_font(12.0)) <= room.width();
    let palette = palette(ui);
    if let Some(text) = [&long, &short].into_iter().find(fits) {
        ui.painter().text(
            room.left_center(),
            Align2::LEFT_CENTER,
            text,
            text_font(12.0),
            palette.muted,
        );
    }
    let response = ui.interact(room, ui.scope_id().with("session"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &long));
    response.on_hover_text(&long);
}
