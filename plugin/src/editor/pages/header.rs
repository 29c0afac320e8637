//! The header: mode, monitor, output, bypass, and what the host runs.

use super::modes::{MODE, mode_page};
use crate::editor::action::{Action, Page};
use crate::editor::drawing::{describe, palette, text_font};
use crate::editor::frame::{Control, Frame};
use crate::editor::widgets::{
    ButtonState, Choice, ChoiceOption, HEIGHT, NumberField, Switch, Unit, button_width, choice,
    choice_width, momentary, number_field, switch, text_button, text_width,
};
use crate::editor::wording::rate_and_latency;
use crate::session::Theme;
use egui::{Align2, Popup, Rect, Ui, pos2, vec2};

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

const COMPARE: Switch = Switch {
    control: Control::Compare,
    word: "Compare",
    tip: "While it is held: the input as it came in, as late and as loud as what it replaces.",
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
    let mut left = mode;
    for part in mode_page(frame).pages {
        if let Some(spec) = PageButton::of(*part) {
            let gap = if left == mode { GAP } else { 6.0 };
            left = after(left, button_width(ui, spec.word), gap);
            page_button(ui, left, &spec, page, actions);
        }
    }
    let left = left.max.x;
    let bypass = before(row.max.x, row, button_width(ui, "Bypass"));
    switch(ui, bypass, &BYPASS, &frame.knobs, actions);
    let compare = before(bypass.min.x - 8.0, row, button_width(ui, COMPARE.word));
    momentary(ui, compare, &COMPARE, &frame.knobs, actions);
    let view = before(compare.min.x - 8.0, row, button_width(ui, "View"));
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

/// The button of a page that stands beside the drawings.
struct PageButton {
    page: Page,
    word: &'static str,
    tip: &'static str,
}

impl PageButton {
    fn of(page: Page) -> Option<Self> {
        let (word, tip) = match page {
            Page::Drawings | Page::Presets => return None,
            Page::Placement => (
                "Placement",
                "Large digits, to be read from the kit while the stands are moved.",
            ),
            Page::Recall => (
                "Recall",
                "Names, units, the gaps to come back to, free lines, and the recall sheet.",
            ),
        };
        Some(Self { page, word, tip })
    }
}

fn page_button(ui: &Ui, rect: Rect, spec: &PageButton, page: Page, actions: &mut Vec<Action>) {
    let is_up = page == spec.page;
    let id = ui.scope_id().with(spec.word);
    let state = ButtonState::of(is_up);
    let response = text_button(ui, rect, id, spec.word, spec.word, state);
    if response.on_hover_text(spec.tip).clicked() {
        actions.push(Action::Page(if is_up { Page::Drawings } else { spec.page }));
    }
}

/// Zooms in the menu, percent: from the smallest to the largest that there is.
const ZOOM_PERCENT: [u16; 7] = [75, 100, 125, 150, 200, 250, 300];

/// Theme and zoom: of the window, not of the audio.
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
        for percent in ZOOM_PERCENT {
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

/// Rate and latency; less of it where the room is short.
fn status(ui: &Ui, room: Rect, frame: &Frame) {
    let long = rate_and_latency(frame);
    let short = long.split(" · ").last().unwrap_or_default().to_owned();
    let milliseconds = short.split(", ").last().unwrap_or_default().to_owned();
    let shorter = format!("latency {milliseconds}");
    let fits = |text: &&String| text_width(ui, text, text_font(12.0)) <= room.width();
    let palette = palette(ui);
    if let Some(text) = [&long, &short, &shorter, &milliseconds]
        .into_iter()
        .find(fits)
    {
        ui.painter().text(
            room.left_center(),
            Align2::LEFT_CENTER,
            text,
            text_font(12.0),
            palette.muted,
        );
    }
    let response = describe(ui, room, "session", egui::Role::Label, &long);
    response.on_hover_text(&long);
}
