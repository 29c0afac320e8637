//! The ring of a pass on the course: dragged along the song, it puts the null point there.

use super::course_scale::Scale;
use crate::editor::action::{Action, set_at_once};
use crate::editor::drawing::{Canvas, text_font};
use crate::editor::frame::{Control, Frame};
use egui::{Align2, CursorIcon, Rect, Response, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use plumbline_dsp::decks::motion::Motion;

/// Radius of the ring, and of what the pointer takes hold of, points.
const RING: f32 = 6.0;
const GRIP: f32 = 14.0;
/// What it is called without the drawing around it.
const NAME: &str = "Null point on the course";
const TIP: &str = "Drag the ring: the pass has its null point there, from any start. Double-click the null line: there.";

/// Draws the ring of a pass and follows the user. `next` is the null point that the course shows, quarter notes.
pub fn null_handle(
    ui: &Ui,
    canvas: &Canvas,
    scale: &Scale,
    frame: &Frame,
    next: Option<f64>,
    actions: &mut Vec<Action>,
) {
    if frame.decks.course.motion != Motion::Pass {
        return;
    }
    place_by_double_click(ui, scale, actions);
    let Some(beats) = frame.decks.null_beats().or(next) else {
        return;
    };
    let at = pos2(scale.x(beats), scale.y(0.0));
    let grip = Rect::from_center_size(at, vec2(2.0 * GRIP, 2.0 * GRIP));
    let id = ui.scope_id().with("null handle");
    let dragged = ui.ctx().is_being_dragged(id);
    if !scale.room.contains(at) && !dragged {
        return;
    }
    let response = ui.interact(grip, id, Sense::drag());
    let words = scale.bar_words(beats);
    response.widget_info(|| WidgetInfo::labeled(Role::Slider, true, format!("{NAME}, {words}")));
    let response = response
        .on_hover_cursor(CursorIcon::ResizeHorizontal)
        .on_hover_text(TIP);
    let strong = response.hovered() || response.dragged();
    let width = if strong { 2.4 } else { 1.6 };
    canvas.ring(at, RING, width, canvas.palette.second);
    drag(&response, scale, actions);
    if response.dragged() {
        let above = at - vec2(0.0, 20.0);
        let font = text_font(12.0);
        canvas.boxed_text(
            above,
            Align2::CENTER_BOTTOM,
            words,
            font,
            canvas.palette.foreground,
        );
    }
}

fn drag(response: &Response, scale: &Scale, actions: &mut Vec<Action>) {
    if response.drag_started() {
        actions.push(Action::Begin(Control::NullAt));
    }
    if let (true, Some(pointer)) = (response.dragged(), response.interact_pointer_pos()) {
        actions.push(Action::Set(Control::NullAt, bar_at(scale, pointer.x)));
    }
    if response.drag_stopped() {
        actions.push(Action::End(Control::NullAt));
    }
}

/// The place in bars under the pointer, on a quarter of a beat, no earlier than the first bar.
fn bar_at(scale: &Scale, x: f32) -> f32 {
    let x = x.clamp(scale.room.min.x, scale.room.max.x);
    scale.now.bar_at_beats(scale.beats(x)).max(1.0) as f32
}

/// A pass without a null point yet gets one where the null line is double-clicked.
fn place_by_double_click(ui: &Ui, scale: &Scale, actions: &mut Vec<Action>) {
    let line = Rect::from_x_y_ranges(
        scale.room.x_range(),
        scale.y(0.0) - GRIP..=scale.y(0.0) + GRIP,
    );
    let response = ui.interact(line, ui.scope_id().with("null line"), Sense::click());
    if let (true, Some(pointer)) = (response.double_clicked(), response.interact_pointer_pos()) {
        actions.extend(set_at_once(Control::NullAt, bar_at(scale, pointer.x)));
    }
}
