//! A canvas for technical drawings: thin lines, text, dimension lines with slanted ends.

use super::palette::{Palette, digit_font, text_font};
use crate::session::Theme;
use egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2,
};
use std::f32::consts::TAU;

/// Straight pieces that a circle of dashes is made of.
const CIRCLE_PARTS: u32 = 72;

/// Draws within one panel.
pub struct Canvas {
    pub painter: Painter,
    pub palette: &'static Palette,
}

impl Canvas {
    /// Draws within `rect`.
    pub fn new(ui: &Ui, rect: Rect) -> Self {
        Self {
            painter: ui.painter_at(rect),
            palette: palette(ui),
        }
    }

    pub fn line(&self, from: Pos2, to: Pos2, width: f32, color: Color32) {
        self.painter
            .line_segment([from, to], Stroke::new(width, color));
    }

    pub fn dashed(&self, from: Pos2, to: Pos2, width: f32, color: Color32) {
        let stroke = Stroke::new(width, color);
        self.painter
            .extend(Shape::dashed_line(&[from, to], stroke, 4.0, 3.0));
    }

    pub fn curve(&self, points: Vec<Pos2>, width: f32, color: Color32) {
        self.painter.line(points, Stroke::new(width, color));
    }

    pub fn dashed_curve(&self, points: &[Pos2], width: f32, color: Color32) {
        let stroke = Stroke::new(width, color);
        self.painter
            .extend(Shape::dashed_line(points, stroke, 6.0, 4.0));
    }

    /// A circle of dashes.
    pub fn dashed_circle(&self, middle: Pos2, radius: f32, width: f32, color: Color32) {
        let at = |part: u32| {
            let turn = Vec2::angled(part as f32 / CIRCLE_PARTS as f32 * TAU);
            middle + radius * turn
        };
        let points: Vec<Pos2> = (0..=CIRCLE_PARTS).map(at).collect();
        self.dashed_curve(&points, width, color);
    }

    pub fn circle(&self, middle: Pos2, radius: f32, width: f32, color: Color32) {
        self.painter
            .circle_stroke(middle, radius, Stroke::new(width, color));
    }

    /// A circle that covers what is under it.
    pub fn ring(&self, middle: Pos2, radius: f32, width: f32, color: Color32) {
        let stroke = Stroke::new(width, color);
        self.painter
            .circle(middle, radius, self.palette.panel, stroke);
    }

    /// The same as a square.
    pub fn square(&self, middle: Pos2, half: f32, width: f32, color: Color32) {
        let rect = Rect::from_center_size(middle, Vec2::splat(2.0 * half));
        let stroke = Stroke::new(width, color);
        self.painter
            .rect(rect, 0.0, self.palette.panel, stroke, StrokeKind::Middle);
    }

    pub fn frame(&self, rect: Rect, width: f32, color: Color32) {
        let stroke = Stroke::new(width, color);
        self.painter
            .rect_stroke(rect, 0.0, stroke, StrokeKind::Inside);
    }

    pub fn fill(&self, rect: Rect, color: Color32) {
        self.painter.rect_filled(rect, 0.0, color);
    }

    /// Text; gives back where it stands.
    pub fn text(
        &self,
        at: Pos2,
        hang: Align2,
        text: impl ToString,
        font: FontId,
        color: Color32,
    ) -> Rect {
        self.painter.text(at, hang, text, font, color)
    }

    /// Text on a filled box over whatever is drawn there.
    pub fn boxed_text(
        &self,
        at: Pos2,
        hang: Align2,
        text: impl ToString,
        font: FontId,
        color: Color32,
    ) {
        let galley = self.painter.layout_no_wrap(text.to_string(), font, color);
        let rect = hang.anchor_size(at, galley.size());
        self.fill(rect.expand2(vec2(3.0, 0.0)), self.palette.panel);
        self.painter.galley(rect.min, galley, color);
    }

    /// What stands where nothing is drawn yet.
    pub fn placeholder(&self, room: Rect, text: &str) {
        let (at, color) = (room.center(), self.palette.muted);
        self.boxed_text(at, Align2::CENTER_CENTER, text, text_font(12.0), color);
    }

    /// A caption.
    pub fn caption(&self, at: Pos2, hang: Align2, text: impl ToString) -> Rect {
        self.text(at, hang, text, text_font(12.0), self.palette.muted)
    }

    /// A value beside its caption.
    pub fn value(&self, at: Pos2, hang: Align2, text: impl ToString) -> Rect {
        self.text(at, hang, text, digit_font(12.0), self.palette.foreground)
    }

    /// A small word for orientation.
    pub fn note(&self, at: Pos2, hang: Align2, text: impl ToString) -> Rect {
        self.text(at, hang, text, text_font(11.0), self.palette.muted)
    }

    /// A small figure for orientation.
    pub fn tick(&self, at: Pos2, hang: Align2, text: impl ToString) -> Rect {
        self.text(at, hang, text, digit_font(11.0), self.palette.muted)
    }

    /// A dimension line beside the stretch from `from` to `to`, `aside` points away, with slanted ends.
    pub fn dimension(&self, from: Pos2, to: Pos2, aside: f32, color: Color32) {
        let along = (to - from).normalized();
        let across = vec2(-along.y, along.x) * aside;
        for end in [from, to] {
            let foot = end + across;
            self.line(end + across * 0.35, end + across * 1.25, 0.8, color);
            self.line(foot + vec2(-4.0, 4.0), foot + vec2(4.0, -4.0), 1.2, color);
        }
        self.line(from + across, to + across, 1.2, color);
    }

    /// A mark that points down at a value on a scale.
    pub fn pointer(&self, tip: Pos2, color: Color32) {
        let corners = vec![tip, tip + vec2(-5.0, -8.0), tip + vec2(5.0, -8.0)];
        self.painter
            .add(Shape::convex_polygon(corners, color, Stroke::NONE));
    }
}

/// The colours of the current theme.
pub fn palette(ui: &Ui) -> &'static Palette {
    match ui.visuals().dark_mode {
        true => Theme::Dark.palette(),
        false => Theme::Light.palette(),
    }
}

/// The box of a control.
pub fn control_box(ui: &Ui, rect: Rect, fill: Color32) {
    let edge = Stroke::new(1.0, palette(ui).edge);
    ui.painter().rect(rect, 2.0, fill, edge, StrokeKind::Inside);
}

/// A drawing's panel with its caption; gives back the room under the caption.
pub fn panel(ui: &Ui, rect: Rect, caption: &str) -> Rect {
    let palette = palette(ui);
    let stroke = Stroke::new(1.0, palette.outline);
    ui.painter()
        .rect(rect, 2.0, palette.panel, stroke, StrokeKind::Inside);
    let at = rect.min + vec2(12.0, 10.0);
    ui.painter().text(
        at,
        Align2::LEFT_TOP,
        caption,
        text_font(12.0),
        palette.muted,
    );
    Rect::from_min_max(
        pos2(rect.min.x + 12.0, rect.min.y + 30.0),
        rect.max - vec2(12.0, 8.0),
    )
}
