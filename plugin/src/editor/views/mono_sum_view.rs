//! What the mono sum loses in each third octave, before and after.

use crate::editor::drawing::{Canvas, describe, panel, plain};
use crate::editor::frame::{Frame, PairMeters};
use crate::editor::wording::{band_name, not_drawn};
use egui::{Align2, Rect, Role, Ui, lerp, pos2, vec2};
use plumbline_dsp::meters::mono_sum_loss::BANDS;

/// Depths of the scale to choose from, dB.
const DEPTHS_DB: [f64; 4] = [6.0, 12.0, 24.0, 48.0];
/// Bands with a name under them.
const NAMED: [usize; 7] = [0, 5, 8, 12, 15, 18, 22];

/// Draws both.
pub fn mono_sum_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, "Mono-sum loss per third octave, dB");
    describe_losses(ui, rect, frame);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(inner.min + vec2(26.0, 22.0), inner.max - vec2(4.0, 16.0));
    legend(&canvas, rect, frame);
    let depth_db = depth_db(frame);
    grid(&canvas, room, depth_db);
    let Some(comparison) = &frame.comparison else {
        canvas.placeholder(room, not_drawn(frame));
        return;
    };
    for band in 0..BANDS {
        let [before, after] =
            [&comparison.before, &comparison.after].map(|side| side.losses_db[band]);
        bars(&canvas, room, depth_db, band, before, after);
    }
}

fn describe_losses(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = worst(frame).unwrap_or_else(|| "nothing heard yet".to_owned());
    describe(
        ui,
        rect,
        "mono sum",
        Role::Image,
        &format!("Mono-sum loss: {text}"),
    );
}

/// "worst before −11.2 at 4k, after −2.2 at 4k".
fn worst(frame: &Frame) -> Option<String> {
    let comparison = frame.comparison.as_ref()?;
    let side = |side: &PairMeters| {
        let (band, loss_db) = side.worst()?;
        Some(format!("{} at {}", plain(loss_db, 1), band_name(band)))
    };
    Some(format!(
        "worst before {}, after {}",
        side(&comparison.before)?,
        side(&comparison.after)?
    ))
}

fn legend(canvas: &Canvas, rect: Rect, frame: &Frame) {
    let top = rect.min.y + 16.0;
    let right = rect.max.x - 12.0;
    let after = canvas.note(pos2(right, top), Align2::RIGHT_CENTER, "after");
    let full = Rect::from_center_size(pos2(after.min.x - 9.0, top), vec2(8.0, 10.0));
    canvas.fill(full, canvas.palette.first);
    let before = canvas.note(pos2(full.min.x - 12.0, top), Align2::RIGHT_CENTER, "before");
    let hollow = Rect::from_center_size(pos2(before.min.x - 9.0, top), vec2(8.0, 10.0));
    canvas.frame(hollow, 1.1, canvas.palette.second);
    if let Some(text) = worst(frame) {
        canvas.note(
            pos2(rect.min.x + 12.0, top + 18.0),
            Align2::LEFT_CENTER,
            text,
        );
    }
}

fn depth_db(frame: &Frame) -> f64 {
    let worst = frame.comparison.as_ref().map_or(0.0, |comparison| {
        let sides = [&comparison.before, &comparison.after].map(PairMeters::worst);
        let losses = sides.into_iter().flatten().map(|(_, loss_db)| -loss_db);
        losses.fold(0.0, f64::max)
    });
    let deep = DEPTHS_DB.into_iter().find(|depth| *depth >= worst);
    deep.unwrap_or(48.0).max(12.0)
}

fn grid(canvas: &Canvas, room: Rect, depth_db: f64) {
    for quarter in 0..=4 {
        let part = quarter as f32 / 4.0;
        let y = lerp(room.y_range(), part);
        canvas.line(
            pos2(room.min.x, y),
            pos2(room.max.x, y),
            1.0,
            canvas.palette.grid,
        );
        let text = plain(-depth_db * f64::from(part), 0);
        canvas.tick(pos2(room.min.x - 6.0, y), Align2::RIGHT_CENTER, text);
    }
    for band in NAMED {
        let x = middle(room, band);
        canvas.tick(
            pos2(x, room.max.y + 4.0),
            Align2::CENTER_TOP,
            band_name(band),
        );
    }
}

fn middle(room: Rect, band: usize) -> f32 {
    room.min.x + room.width() * (band as f32 + 0.5) / BANDS as f32
}

fn bars(
    canvas: &Canvas,
    room: Rect,
    depth_db: f64,
    band: usize,
    before: Option<f64>,
    after: Option<f64>,
) {
    let pitch = room.width() / BANDS as f32;
    let bar = |loss_db: f64, width: f32| {
        let height = (-loss_db / depth_db).clamp(0.0, 1.0) as f32 * room.height();
        let top = pos2(middle(room, band) - width / 2.0, room.min.y);
        Rect::from_min_size(top, vec2(width, height.max(1.0)))
    };
    if let Some(loss_db) = before {
        canvas.frame(bar(loss_db, 0.62 * pitch), 1.1, canvas.palette.second);
    }
    if let Some(loss_db) = after {
        canvas.fill(bar(loss_db, 0.36 * pitch), canvas.palette.first);
    }
}
