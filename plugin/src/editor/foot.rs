//! The foot of a page: its controls, in as many rows as the width asks for.

use super::control::Action;
use super::field::{Field, field};
use super::frame::Frame;
use super::ink::words;
use super::list::{self, list};
use super::pen::inks;
use super::push::push;
use super::switch::{Choice, HEIGHT, Switch, choice, natural, switch, width};
use super::unit::Unit;
use egui::{Align2, Rect, Ui, pos2, vec2};

/// A row with its captions, points.
const ROW: f32 = 50.0;
/// Room between controls, points.
const GAP: f32 = 8.0;

/// One control of the foot.
#[derive(Clone, Copy)]
pub enum Item {
    Switch(&'static Switch),
    /// On only while it is pressed.
    Push(&'static Switch),
    Choice(&'static Choice),
    /// A choice that opens where it stands.
    List(&'static Choice),
    Field(&'static Field),
}

impl Item {
    fn width(self, ui: &Ui) -> f32 {
        match self {
            Self::Switch(spec) | Self::Push(spec) => width(ui, spec.word) + 12.0,
            Self::Choice(spec) => natural(ui, spec),
            Self::List(spec) => list::natural(ui, spec),
            Self::Field(spec) => match spec.unit {
                Unit::Percent | Unit::Weighted => 64.0,
                Unit::Hertz => 66.0,
                Unit::Celsius => 78.0,
                _ => 88.0,
            },
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Switch(_) | Self::Push(_) => "",
            Self::Choice(spec) | Self::List(spec) => spec.title,
            Self::Field(spec) => spec.title,
        }
    }
}

/// Items by rows, each with its width.
fn rows(ui: &Ui, room: f32, items: Vec<Item>) -> Vec<Vec<(Item, f32)>> {
    let mut rows: Vec<Vec<(Item, f32)>> = vec![Vec::new()];
    let mut used = 0.0;
    for item in items {
        let width = item.width(ui);
        if used > 0.0 && used + width > room {
            rows.push(Vec::new());
            used = 0.0;
        }
        used += width + GAP;
        let row = rows.len() - 1;
        rows[row].push((item, width));
    }
    rows
}

/// Height of the foot in a window of this width.
pub fn height(ui: &Ui, window_width: f32, items: Vec<Item>) -> f32 {
    rows(ui, window_width - 40.0, items).len() as f32 * ROW + 18.0
}

/// Draws it and follows the hand.
pub fn foot(ui: &mut Ui, rect: Rect, items: Vec<Item>, frame: &Frame, actions: &mut Vec<Action>) {
    let inks = inks(ui);
    let rule = egui::Stroke::new(1.0, inks.rule);
    ui.painter().hline(rect.x_range(), rect.min.y + 0.5, rule);
    let mut top = rect.min.y + 6.0;
    for row in rows(ui, rect.width() - 40.0, items) {
        let mut left = rect.min.x + 20.0;
        for (item, width) in row {
            let place = Rect::from_min_size(pos2(left, top + 18.0), vec2(width, HEIGHT));
            let at = place.left_top() - vec2(0.0, 3.0);
            ui.painter().text(
                at,
                Align2::LEFT_BOTTOM,
                item.title(),
                words(11.0),
                inks.soft,
            );
            match item {
                Item::Switch(spec) => switch(ui, place, spec, &frame.knobs, actions),
                Item::Push(spec) => push(ui, place, spec, &frame.knobs, actions),
                Item::Choice(spec) => choice(ui, place, spec, &frame.knobs, actions),
                Item::List(spec) => list(ui, place, spec, &frame.knobs, actions),
                Item::Field(spec) => field(ui, place, spec, frame, actions),
            }
            left += width + GAP;
        }
        top += ROW;
    }
}
