//! The gap in large digits, the verdict in words, how sure it is, and before against after.

use crate::editor::drawing::{Canvas, digit_font, panel, signed, text_font};
use crate::editor::frame::{Channels, Frame};
use crate::editor::wording::{
    certainty, first_null, hits, last_refused, names, notices, polarity_word, refused_words,
    verdict,
};
use egui::{
    Align2, Color32, Label, Layout, Rect, RichText, Role, ScrollArea, Sense, Ui, UiBuilder,
    WidgetInfo, lerp, pos2, vec2,
};
use plumbline_dsp::measurement::Lag;

/// A line of facts, points.
const LINE: f32 = 22.0;
/// From this height on the panel has room for the correlation's scales.
const ROOMY: f32 = 310.0;

/// Draws the panel.
pub fn gap_view(ui: &mut Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, caption(frame.activation.channels));
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let roomy = inner.height() >= ROOMY - 38.0;
    let top = match frame.lag() {
        Some(lag) => {
            let size = (0.17 * inner.height()).clamp(34.0, 96.0);
            gap(&canvas, inner, frame, &lag, size)
        }
        None => inner.min.y,
    };
    describe_gap(ui, rect, frame);
    let facts_height = match frame.lag() {
        Some(_) if roomy => 5.3 * LINE,
        Some(_) => 3.0 * LINE,
        None => LINE,
    };
    let facts = Rect::from_min_max(pos2(inner.min.x, inner.max.y - facts_height), inner.max);
    let text = Rect::from_min_max(pos2(inner.min.x, top), pos2(inner.max.x, facts.min.y - 6.0));
    sentences(ui, text, frame);
    canvas.line(
        facts.left_top(),
        facts.right_top(),
        1.0,
        canvas.palette.grid,
    );
    facts_of(&canvas, facts, frame, roomy);
    describe_facts(ui, facts, frame);
}

fn caption(channels: Channels) -> &'static str {
    match channels {
        Channels::Pair => "Gap, second after first",
        Channels::Mono => "Lag, channel after spot",
    }
}

/// The gap as a sentence for those who do not see the figures.
pub fn gap_words(frame: &Frame) -> String {
    match frame.lag() {
        Some(lag) => {
            let air = frame.air();
            format!(
                "{}: {} cm, {} ms, {} samples, {} in",
                caption(frame.activation.channels),
                signed(air.cm(lag.attack_s), 1),
                signed(lag.attack_s * 1000.0, 3),
                signed(air.samples(lag.attack_s), 2),
                signed(air.inches(lag.attack_s), 2)
            )
        }
        None => "No gap yet".to_owned(),
    }
}

fn describe_gap(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = gap_words(frame);
    ui.interact(rect, ui.scope_id().with("gap"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
}

/// The ink of the later of the two.
pub fn later_color(canvas: &Canvas, lag_s: f64) -> Color32 {
    match lag_s >= 0.0 {
        true => canvas.palette.second,
        false => canvas.palette.first,
    }
}

/// Draws the gap; where the next thing may begin.
fn gap(canvas: &Canvas, inner: Rect, frame: &Frame, lag: &Lag, size: f32) -> f32 {
    let air = frame.air();
    let color = later_color(canvas, lag.attack_s);
    let text = format!("{} cm", signed(air.cm(lag.attack_s), 1));
    let at = inner.min - vec2(0.0, 4.0);
    let large = canvas.text(at, Align2::LEFT_TOP, text, digit_font(size), color);
    let spread = format!("± {:.2} smp", air.samples(lag.spread_s));
    let units = [
        format!("{} ms", signed(lag.attack_s * 1000.0, 3)),
        format!("{} samples", signed(air.samples(lag.attack_s), 2)),
        format!("{} in", signed(air.inches(lag.attack_s), 2)),
    ];
    let y = large.max.y + 8.0;
    let small = if inner.width() > 380.0 { 13.0 } else { 12.0 };
    let gap = if inner.width() > 380.0 { "   " } else { "  " };
    canvas.text(
        pos2(inner.min.x, y),
        Align2::LEFT_CENTER,
        units.join(gap),
        digit_font(small),
        canvas.palette.foreground,
    );
    let at = pos2(inner.max.x, large.center().y);
    canvas.text(
        at,
        Align2::RIGHT_CENTER,
        spread,
        digit_font(12.0),
        canvas.palette.muted,
    );
    y + 14.0
}

/// The verdict and what else there is to say; scrolls when the window is too small for it.
fn sentences(ui: &mut Ui, rect: Rect, frame: &Frame) {
    let builder = UiBuilder::new()
        .max_rect(rect)
        .layout(Layout::top_down(egui::Align::LEFT));
    ui.scope_builder(builder, |ui| {
        ui.set_clip_rect(rect.expand(1.0).intersect(ui.clip_rect()));
        ScrollArea::vertical()
            .id_salt("sentences")
            .auto_shrink([false, false])
            .show(ui, |ui| {
                ui.set_width(rect.width() - 10.0);
                ui.spacing_mut().item_spacing.y = 5.0;
                ui.add(Label::new(RichText::new(verdict(frame)).font(text_font(13.5))).wrap());
                for notice in notices(frame) {
                    let text = RichText::new(notice).font(text_font(13.0));
                    ui.add(Label::new(text).wrap());
                }
            });
    });
}

fn facts_of(canvas: &Canvas, rect: Rect, frame: &Frame, roomy: bool) {
    let line = |number: f32| rect.min.y + LINE * (number + 0.5);
    counts(canvas, rect, line(0.0), frame);
    let Some(lag) = frame.lag() else {
        return;
    };
    let word = polarity_word(lag.polarity);
    fact(canvas, pos2(rect.min.x, line(1.0)), "Polarity", word);
    let null = format!(
        "{}, after {}",
        first_null(lag.attack_s),
        first_null(frame.left_s().unwrap_or(0.0))
    );
    let column = pos2(rect.min.x + (0.33 * rect.width()).max(124.0), line(1.0));
    let fits = "First null".len() + null.chars().count() < (rect.max.x - column.x) as usize / 7;
    match fits {
        true => fact(canvas, column, "First null", &null),
        false => fact(canvas, column, "First null", &first_null(lag.attack_s)),
    }
    match roomy {
        true => correlation_scales(canvas, rect, [line(2.0), line(3.0), line(4.0)], frame),
        false => {
            let at = pos2(rect.min.x, line(2.0));
            fact(canvas, at, "Correlation", &correlation_words(frame));
        }
    }
}

/// A caption and what is so; ends where the next may begin.
fn fact(canvas: &Canvas, at: egui::Pos2, caption: &str, value: &str) {
    let caption = canvas.text(
        at,
        Align2::LEFT_CENTER,
        caption,
        text_font(12.0),
        canvas.palette.muted,
    );
    let at = pos2(caption.max.x + 8.0, at.y);
    canvas.text(
        at,
        Align2::LEFT_CENTER,
        value,
        digit_font(12.0),
        canvas.palette.foreground,
    );
}

fn counts(canvas: &Canvas, rect: Rect, y: f32, frame: &Frame) {
    let at = pos2(rect.min.x, y);
    let count = canvas.text(
        at,
        Align2::LEFT_CENTER,
        hits(frame.hits()),
        digit_font(12.0),
        canvas.palette.foreground,
    );
    let refused = refused_words(&frame.measurement().refused);
    let right = match frame.lag() {
        Some(lag) => sure(canvas, rect, y, &lag),
        None => rect.max.x,
    };
    if refused.is_empty() {
        return;
    }
    let room = right - count.max.x - 24.0;
    let total = frame.measurement().refused.total();
    let long = format!("refused: {refused}");
    let texts = [long, format!("{total} refused")];
    let fits = |text: &&String| width(canvas, text) <= room;
    if let Some(text) = texts.iter().find(fits) {
        canvas.text(
            pos2(count.max.x + 12.0, y),
            Align2::LEFT_CENTER,
            text,
            text_font(12.0),
            canvas.palette.muted,
        );
    }
}

fn width(canvas: &Canvas, text: &str) -> f32 {
    let color = canvas.palette.muted;
    let galley = canvas
        .painter
        .layout_no_wrap(text.to_owned(), text_font(12.0), color);
    galley.size().x
}

/// The word and its bar; gives back its left edge.
fn sure(canvas: &Canvas, rect: Rect, y: f32, lag: &Lag) -> f32 {
    let whole = Rect::from_min_size(pos2(rect.max.x - 72.0, y - 4.0), vec2(72.0, 8.0));
    canvas.fill(whole, canvas.palette.grid);
    let mut part = whole;
    part.set_width(whole.width() * lag.confidence.clamp(0.0, 1.0) as f32);
    canvas.fill(part, canvas.palette.foreground);
    let at = pos2(whole.min.x - 8.0, y);
    canvas
        .text(
            at,
            Align2::RIGHT_CENTER,
            certainty(lag.confidence),
            text_font(12.0),
            canvas.palette.muted,
        )
        .min
        .x
}

fn correlation_words(frame: &Frame) -> String {
    match &frame.comparison {
        Some(comparison) => format!(
            "{}, after {}",
            signed(comparison.before.correlation, 2),
            signed(comparison.after.correlation, 2)
        ),
        None => "with the next hits".to_owned(),
    }
}

fn correlation_scales(canvas: &Canvas, rect: Rect, lines: [f32; 3], frame: &Frame) {
    let caption = "Correlation of the hits, 100 Hz to 5 kHz";
    canvas.text(
        pos2(rect.min.x, lines[0]),
        Align2::LEFT_CENTER,
        caption,
        text_font(12.0),
        canvas.palette.muted,
    );
    let Some(comparison) = &frame.comparison else {
        let text = "comes back with the next hits that are measured";
        canvas.text(
            pos2(rect.min.x, lines[1]),
            Align2::LEFT_CENTER,
            text,
            text_font(12.0),
            canvas.palette.muted,
        );
        return;
    };
    for (y, caption, value, color) in [
        (
            lines[1],
            "before",
            comparison.before.correlation,
            canvas.palette.second,
        ),
        (
            lines[2],
            "after",
            comparison.after.correlation,
            canvas.palette.first,
        ),
    ] {
        canvas.text(
            pos2(rect.min.x, y),
            Align2::LEFT_CENTER,
            caption,
            text_font(12.0),
            canvas.palette.muted,
        );
        let text = signed(value, 2);
        canvas.text(
            pos2(rect.max.x, y),
            Align2::RIGHT_CENTER,
            text,
            digit_font(12.0),
            canvas.palette.foreground,
        );
        let scale = Rect::from_min_max(pos2(rect.min.x + 56.0, y), pos2(rect.max.x - 56.0, y));
        correlation_scale(canvas, scale, value, color);
    }
    for (value, hang) in [(-1, 0.0), (0, 0.5), (1, 1.0)] {
        let x = lerp(rect.min.x + 56.0..=rect.max.x - 56.0, hang);
        canvas.tick(
            pos2(x, lines[2] + 12.0),
            Align2::CENTER_CENTER,
            signed(f64::from(value), 0),
        );
    }
}

fn correlation_scale(canvas: &Canvas, scale: Rect, value: f64, color: Color32) {
    let y = scale.min.y + 3.0;
    canvas.line(
        pos2(scale.min.x, y),
        pos2(scale.max.x, y),
        1.0,
        canvas.palette.outline,
    );
    for quarter in 0..=4 {
        let x = lerp(scale.x_range(), quarter as f32 / 4.0);
        canvas.line(
            pos2(x, y - 3.0),
            pos2(x, y + 3.0),
            1.0,
            canvas.palette.outline,
        );
    }
    let part = ((value + 1.0) / 2.0) as f32;
    canvas.pointer(pos2(lerp(scale.x_range(), part), y), color);
}

fn describe_facts(ui: &Ui, rect: Rect, frame: &Frame) {
    let mut text = hits(frame.hits());
    if let Some(lag) = frame.lag() {
        let late = names(frame.activation.channels).late;
        text += &format!(
            ", {}, polarity of the {late} {}, correlation before {}",
            certainty(lag.confidence),
            polarity_word(lag.polarity),
            correlation_words(frame)
        );
    }
    text.extend(last_refused(frame).map(|why| format!("; {why}")));
    let response = ui.interact(rect, ui.scope_id().with("facts"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
    let tip = "How many hits counted and why others did not, how sure the gap is, and how alike the two are before \
               and after. Correct decides which of them is comparison.";
    response.on_hover_text(tip);
}
