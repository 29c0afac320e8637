//! The kit map: a row a drum with its gap, how sure it is, and what its mono sum loses before and after the correction.

use super::kit_scale::KitScale;
use crate::editor::action::{Action, Note};
use crate::editor::drawing::{Canvas, digit_font, panel, plain, signed, text_font};
use crate::editor::frame::{Air, Channels, Frame, KitRow};
use crate::editor::widgets::{focus_outline, may_be_doubled, text_entry};
use crate::editor::wording::{kit_row_words, names, polarity_word};
use crate::session::Lengths;
use egui::{
    Align2, CursorIcon, Id, Key, Rangef, Rect, Response, Role, ScrollArea, Sense, Ui, UiBuilder,
    Vec2, WidgetInfo, pos2, vec2,
};
use plumbline_dsp::measurement::{Lag, Polarity};

/// By how much the outline of a row is larger than the row, so that it crosses no figure, points.
const OUTLINE: Vec2 = vec2(5.0, 0.0);
/// Height of a row: what can be clicked is at least so high (WCAG 2.2, 2.5.8), points.
const ROW: f32 = 24.0;
/// Room for the headings with the ruler's figures, points.
const HEADING: f32 = 12.0;
/// From this width on there is room for every column, points.
const WIDE: f32 = 470.0;

/// Where each column stands, points.
struct Columns {
    name: Rangef,
    hits: f32,
    ruler: Rangef,
    gap: f32,
    /// Probability and polarity; `None` in a narrow panel.
    sure: Option<[f32; 2]>,
    loss: f32,
}

impl Columns {
    fn new(inner: Rect) -> Self {
        let (left, right) = (inner.min.x, inner.max.x);
        let wide = inner.width() >= WIDE;
        let name = if wide { 88.0 } else { 66.0 };
        let gap = match wide {
            true => right - 208.0,
            false => right - 98.0,
        };
        let hits = left + name + 24.0;
        let figures = if wide { 88.0 } else { 60.0 };
        Self {
            name: Rangef::new(left, left + name),
            hits,
            ruler: Rangef::new(hits + 22.0, gap - figures),
            gap,
            sure: wide.then_some([right - 160.0, right - 102.0]),
            loss: right,
        }
    }
}

/// Draws it and follows the user.
pub fn kit_view(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let rows = frame.kit_rows();
    let inner = panel(ui, rect, "");
    let top = inner.min.y + HEADING;
    // Whole rows, so that none is cut through.
    let seen = ((inner.max.y - top) / ROW).max(1.0) as usize;
    let scrolls = match seen < rows.len() {
        true => format!(" · {} drums, scroll", rows.len()),
        false => String::new(),
    };
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let at = rect.min + vec2(12.0, 10.0);
    canvas.caption(at, Align2::LEFT_TOP, caption(frame) + &scrolls);
    if rows.is_empty() {
        canvas.placeholder(inner, "a row for each drum from its first hit on");
        return;
    }
    let columns = Columns::new(inner);
    headings(&canvas, &columns, inner.min.y + HEADING / 2.0);
    let used = ROW * seen.min(rows.len()) as f32;
    let room = Rect::from_min_max(pos2(inner.min.x, top), pos2(inner.max.x, top + used));
    let scale = KitScale::new(frame.air(), &rows, columns.ruler);
    scale.draw(&canvas, room.y_range());
    let builder = UiBuilder::new().max_rect(room);
    ui.scope_builder(builder, |ui| {
        ui.set_clip_rect(room.expand2(OUTLINE).intersect(ui.clip_rect()));
        ScrollArea::vertical()
            .id_salt("kit")
            .auto_shrink([false, false])
            .show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                for row in &rows {
                    let (_, place) = ui.allocate_space(vec2(room.width(), ROW));
                    let place = place.with_max_x(room.max.x);
                    row_view(ui, place, row, &columns, &scale, frame, actions);
                }
            });
    });
}

fn caption(frame: &Frame) -> String {
    let names = names(frame);
    let unit = match frame.air().lengths {
        Lengths::Centimetres => "cm",
        Lengths::Inches => "in",
    };
    match frame.activation.channels {
        Channels::Pair => format!("Kit, {} after {}, {unit}", names.late, names.early),
        Channels::Mono => format!("Drums, {} after {}, {unit}", names.late, names.early),
    }
}

fn headings(canvas: &Canvas, columns: &Columns, y: f32) {
    let right = |x: f32, text: &str| canvas.note(pos2(x, y), Align2::RIGHT_CENTER, text);
    right(columns.hits, "hits");
    right(columns.loss, "mono sum, dB");
    match columns.sure {
        Some([sure, _]) => {
            right(columns.gap, "gap ± spread");
            right(sure, "sure");
            let at = pos2(sure + 8.0, y);
            canvas.note(at, Align2::LEFT_CENTER, "polarity");
        }
        None => {
            right(columns.gap, "gap");
        }
    }
}

fn row_view(
    ui: &mut Ui,
    rect: Rect,
    row: &KitRow,
    columns: &Columns,
    scale: &KitScale,
    frame: &Frame,
    actions: &mut Vec<Action>,
) {
    let id = ui.scope_id().with(("drum", row.number));
    let response = ui
        .interact(rect, id, Sense::click())
        .on_hover_cursor(CursorIcon::PointingHand);
    let words = kit_row_words(row, &frame.air());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, row.is_chosen, &words));
    let canvas = Canvas::new(ui, rect.intersect(ui.clip_rect()));
    if row.is_chosen {
        let x = Rangef::new(rect.min.x - 4.0, columns.ruler.min - 18.0);
        canvas.fill(
            Rect::from_x_y_ranges(x, rect.y_range()),
            canvas.palette.grid,
        );
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    let focused = response.has_focus();
    if focused || response.hovered() {
        focus_outline(ui, rect.expand2(OUTLINE));
    }
    figures(&canvas, rect, row, columns, &frame.air());
    gaps(&canvas, rect.center().y, row, scale);
    let typed_key = focused && ui.input(|input| input.key_pressed(Key::F2));
    // Before it may be opened: a box that is new in the frame of a click would lose the keyboard to that click.
    name(ui, rect, id, row, columns, actions);
    let is_picked = is_clicked_once(ui, &response);
    if response.double_clicked() || typed_key {
        open_name(ui, id);
    } else if is_picked && !row.is_chosen {
        actions.push(Action::PickDrum(row.number));
    }
    response.on_hover_text(format!(
        "{words}. Click: aligned on this drum. Double-click or F2: its own name."
    ));
}

/// A click that no second one has followed: the aligned drum's row goes to the top, and a double-click must not lose its
/// row in between.
fn is_clicked_once(ui: &Ui, response: &Response) -> bool {
    let id = response.id.with("clicked");
    let now = ui.input(|input| input.time);
    if response.double_clicked() {
        ui.data_mut(|data| data.remove::<f64>(id));
    } else if response.clicked() {
        ui.data_mut(|data| data.insert_temp(id, now));
    }
    let Some(at) = ui.data(|data| data.get_temp::<f64>(id)) else {
        return false;
    };
    let is_over = !may_be_doubled(ui, at);
    match is_over {
        true => ui.data_mut(|data| data.remove::<f64>(id)),
        false => ui.ctx().request_repaint(),
    }
    is_over
}

fn open_name(ui: &Ui, id: Id) {
    ui.data_mut(|data| data.insert_temp(id.with("naming"), true));
    ui.memory_mut(|memory| memory.request_focus(id.with("name").with("text")));
    ui.ctx().request_repaint();
}

/// The name, or the box that it is typed in.
fn name(
    ui: &mut Ui,
    rect: Rect,
    id: Id,
    row: &KitRow,
    columns: &Columns,
    actions: &mut Vec<Action>,
) {
    let naming = id.with("naming");
    let at = Rect::from_x_y_ranges(columns.name, rect.y_range());
    if ui.data(|data| data.get_temp::<bool>(naming)).is_none() {
        let canvas = Canvas::new(ui, at.intersect(ui.clip_rect()));
        let color = canvas.palette.foreground;
        let left = at.left_center();
        canvas.text(left, Align2::LEFT_CENTER, &row.name, text_font(12.5), color);
        return;
    }
    let box_id = id.with("name");
    let typed = text_entry(ui, at, box_id, "Name of the drum", &row.name);
    let held = ui.memory(|memory| memory.has_focus(box_id.with("text")));
    if typed.is_some() || !held {
        ui.data_mut(|data| data.remove::<bool>(naming));
    }
    actions.extend(typed.map(|name| Action::Note(Note::NameDrum(row.number, name))));
}

/// The columns beside the ruler.
fn figures(canvas: &Canvas, rect: Rect, row: &KitRow, columns: &Columns, air: &Air) {
    let y = rect.center().y;
    let right = |x: f32, text: &str| canvas.value(pos2(x, y), Align2::RIGHT_CENTER, text);
    // Captions' ink does not stand out on the ground of the picked row.
    let ink = match row.is_chosen {
        true => canvas.palette.foreground,
        false => canvas.palette.muted,
    };
    let at = pos2(columns.hits, y);
    canvas.text(at, Align2::RIGHT_CENTER, row.hits, digit_font(11.0), ink);
    match (&row.lag, columns.sure) {
        (Some(lag), Some([sure, _])) => {
            right(columns.gap, &gap_and_spread(lag, air));
            right(sure, &format!("{} %", plain(100.0 * lag.confidence, 0)));
            let at = pos2(sure + 8.0, y);
            canvas.note(at, Align2::LEFT_CENTER, polarity_word(lag.polarity));
        }
        (Some(lag), None) => {
            let mark = if lag.polarity == Polarity::Inverted {
                "ø "
            } else {
                ""
            };
            right(columns.gap, &format!("{mark}{}", number(lag.attack_s, air)));
        }
        (None, _) => {
            right(columns.gap, "not known");
        }
    }
    if let Some(loss) = row.loss {
        let text = format!("{} → {}", plain(loss.before_db, 1), plain(loss.after_db, 1));
        right(columns.loss, &text);
    }
}

fn number(gap_s: f64, air: &Air) -> String {
    match air.lengths {
        Lengths::Centimetres => signed(air.cm(gap_s), 1),
        Lengths::Inches => signed(air.inches(gap_s), 2),
    }
}

fn gap_and_spread(lag: &Lag, air: &Air) -> String {
    let spread = number(lag.spread_s, air);
    format!(
        "{} ±{}",
        number(lag.attack_s, air),
        spread.trim_start_matches('+')
    )
}

/// Hollow as recorded with its spread, full as corrected.
fn gaps(canvas: &Canvas, y: f32, row: &KitRow, scale: &KitScale) {
    let Some(lag) = &row.lag else { return };
    let recorded = scale.x(lag.attack_s);
    let palette = canvas.palette;
    let color = if row.is_chosen {
        palette.second
    } else {
        palette.foreground
    };
    let [from, to] = [-lag.spread_s, lag.spread_s].map(|off| scale.x(lag.attack_s + off));
    canvas.line(pos2(from, y), pos2(to, y), 1.6, color);
    canvas.ring(pos2(recorded, y), 4.0, 1.3, color);
    if let Some(left_s) = row.left_s {
        let color = if row.is_chosen {
            palette.first
        } else {
            palette.foreground
        };
        canvas
            .painter
            .circle_filled(pos2(scale.x(left_s), y), 3.6, color);
    }
}
