//! The gap in large digits, the verdict in words, how sure it is, and before against after.

use super::gap_facts::{Space, facts, facts_height};
use crate::editor::drawing::{Canvas, describe, digit_font, panel, text_font};
use crate::editor::frame::Frame;
use crate::editor::wording::{LagWords, distance, gap_words, lag_caption, notices, verdict};
use egui::{
    Align2, Color32, Label, Layout, Rect, RichText, Role, ScrollArea, Ui, UiBuilder, pos2, vec2,
};
use plumbline_dsp::measurement::Lag;

/// Draws the panel.
pub fn gap_view(ui: &mut Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, &lag_caption(frame));
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let space = Space::of(inner.height());
    let top = match frame.lag() {
        Some(lag) => {
            let size = (0.17 * inner.height()).clamp(34.0, 96.0);
            gap(&canvas, inner, frame, &lag, (size, space))
        }
        None => inner.min.y,
    };
    describe_gap(ui, rect, frame);
    let under = inner.max.y - facts_height(frame, space);
    let foot = inner.with_min_y(under);
    let text = Rect::from_min_max(pos2(inner.min.x, top), pos2(inner.max.x, under - 6.0));
    sentences(ui, text, frame);
    let rule = canvas.palette.grid;
    canvas.line(foot.left_top(), foot.right_top(), 1.0, rule);
    facts(ui, &canvas, foot, frame, space);
}

fn describe_gap(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = gap_words(frame);
    describe(ui, rect, "gap", Role::Label, &text);
}

/// The colour of the later of the two.
pub fn later_color(canvas: &Canvas, lag_s: f64) -> Color32 {
    match lag_s >= 0.0 {
        true => canvas.palette.second,
        false => canvas.palette.first,
    }
}

/// Draws the gap; where the next thing may begin. In a small panel what else it is called stands beside it.
fn gap(canvas: &Canvas, inner: Rect, frame: &Frame, lag: &Lag, (size, space): (f32, Space)) -> f32 {
    let air = frame.air();
    let LagWords {
        length,
        ms,
        samples,
        other_length,
    } = LagWords::new(&air, lag.attack_s);
    let color = later_color(canvas, lag.attack_s);
    let at = inner.min - vec2(0.0, 4.0);
    let large = canvas.text(at, Align2::LEFT_TOP, length, digit_font(size), color);
    let spread = format!("± {}", distance(&air, lag.spread_s));
    if space == Space::Small {
        let lines = [spread, ms, samples, other_length];
        return beside(canvas, inner, &lines).max(large.max.y);
    }
    let y = large.max.y + 8.0;
    // The line under it grows with it, as far as the panel is wide.
    let (most, gap) = match inner.width() > 380.0 {
        true => (0.034 * inner.width(), "   "),
        false => (12.0, "  "),
    };
    let small = (0.27 * size).clamp(12.0, most.clamp(12.0, 22.0));
    canvas.text(
        pos2(inner.min.x, y),
        Align2::LEFT_CENTER,
        [ms, samples, other_length].join(gap),
        digit_font(small),
        canvas.palette.foreground,
    );
    let at = pos2(inner.max.x, large.center().y);
    let muted = canvas.palette.muted;
    canvas.text(at, Align2::RIGHT_CENTER, spread, digit_font(12.0), muted);
    y + 0.7 * small + 6.0
}

/// Short lines at the right edge; where they end.
fn beside(canvas: &Canvas, inner: Rect, lines: &[String]) -> f32 {
    let mut y = inner.min.y - 12.0;
    for line in lines {
        let at = pos2(inner.max.x, y);
        y = canvas.tick(at, Align2::RIGHT_TOP, line).max.y;
    }
    y
}

/// The verdict and what else there is to say; scrolls when the window is too small for it.
fn sentences(ui: &mut Ui, rect: Rect, frame: &Frame) {
    // A large panel has large letters.
    let large = (rect.height() / USUAL).clamp(1.0, LARGEST);
    let mut texts = vec![(verdict(frame), 13.5 * large)];
    let notices = notices(frame).into_iter();
    texts.extend(notices.map(|notice| (notice, 13.0 * large)));
    let seen = whole_lines(ui, rect, &texts);
    let builder = UiBuilder::new()
        .max_rect(seen.rect)
        .layout(Layout::top_down(egui::Align::LEFT));
    ui.scope_builder(builder, |ui| {
        ui.set_clip_rect(seen.rect.expand(1.0).intersect(ui.clip_rect()));
        ScrollArea::vertical()
            .id_salt("sentences")
            .auto_shrink([false, false])
            .show(ui, |ui| {
                ui.set_width(rect.width() - EDGE);
                ui.spacing_mut().item_spacing.y = BETWEEN;
                for (text, size) in texts {
                    let text = RichText::new(text).font(text_font(size));
                    ui.add(Label::new(text).wrap());
                }
            });
    });
    if seen.is_cut {
        let canvas = Canvas::new(ui, rect.expand(6.0));
        let tip = seen.rect.right_bottom() + vec2(-1.0, -2.0);
        canvas.pointer(tip, canvas.palette.muted);
    }
}

/// Height of the room for sentences in a window of the usual size, points, and how much larger letters become.
const USUAL: f32 = 130.0;
const LARGEST: f32 = 1.4;

/// Room for the scroll bar, and between two sentences, points.
const EDGE: f32 = 10.0;
const BETWEEN: f32 = 5.0;

/// As much of a text as fits in whole lines.
struct Seen {
    rect: Rect,
    /// There is more.
    is_cut: bool,
}

fn whole_lines(ui: &Ui, rect: Rect, texts: &[(String, f32)]) -> Seen {
    let (mut top, mut bottom, mut is_cut) = (0.0, 0.0_f32, false);
    for (text, size) in texts {
        let width = rect.width() - EDGE;
        let painter = ui.painter();
        let galley = painter.layout(text.clone(), text_font(*size), Color32::WHITE, width);
        for row in &galley.rows {
            let end = top + row.rect().max.y;
            match end <= rect.height() {
                true => bottom = bottom.max(end),
                false => is_cut = true,
            }
        }
        top += galley.size().y + BETWEEN;
    }
    let height = if is_cut { bottom } else { rect.height() };
    Seen {
        rect: rect.with_max_y(rect.min.y + height),
        is_cut,
    }
}
