//! The drawings of the recall sheet as inline SVG: lag curve and mono sum.

use crate::editor::frame::{BeforeAfter, Frame};
use crate::editor::wording::band_name;
use plumbline_dsp::measure::lag_curve::{LagCurve, POINTS, REACH_S};
use plumbline_dsp::meters::mono_sum_loss::BANDS;
use std::fmt::Write;

/// Size of a drawing and room around it, pixels.
const WIDTH: f64 = 520.0;
const HEIGHT: f64 = 170.0;
const MARGIN: f64 = 28.0;
/// Foot of the scale of the mono sum, dB.
const DEPTH_DB: f64 = 24.0;

/// Likeness over lag, with lines at Attack and Body.
pub fn lag_curve(frame: &Frame, comparison: &BeforeAfter) -> String {
    let curve = &comparison.snapshot.lag_curve;
    let x = |lag_s: f64| {
        let part = 0.5 + 0.5 * (lag_s / REACH_S).clamp(-1.0, 1.0);
        MARGIN + (WIDTH - 2.0 * MARGIN) * part
    };
    let y = |value: f32| HEIGHT / 2.0 - (HEIGHT / 2.0 - MARGIN) * f64::from(value.clamp(-1.0, 1.0));
    let path = |values: &[f32; POINTS]| {
        let points = values.iter().enumerate();
        let points = points
            .map(|(point, value)| format!("{:.1},{:.1}", x(LagCurve::lag_s(point)), y(*value)));
        points.collect::<Vec<_>>().join(" ")
    };
    let mut body = format!(
        "<polyline class=\"thin\" points=\"{}\"/><polyline class=\"ink\" points=\"{}\"/>",
        path(&curve.body),
        path(&curve.fronts)
    );
    for (lag_ms, name) in [
        (-3, "−3"),
        (-2, "−2"),
        (-1, "−1"),
        (0, "0"),
        (1, "+1"),
        (2, "+2"),
        (3, "+3"),
    ] {
        put_text(&mut body, x(f64::from(lag_ms) / 1000.0), HEIGHT - 8.0, name);
    }
    if let Some(lag) = frame.lag() {
        for (lag_s, class) in [(lag.body_s, "thin"), (lag.attack_s, "accent")] {
            let at = x(lag_s);
            // Writing into a String cannot fail.
            let _ = write!(
                body,
                "<line class=\"{class}\" x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{MARGIN}\" y2=\"{:.1}\"/>",
                HEIGHT - MARGIN
            );
        }
    }
    svg("Lag of the hits, ms: fronts dark, body thin", &body)
}

/// Loss of the mono sum in each third octave, before hollow and after full.
pub fn mono_sum(comparison: &BeforeAfter) -> String {
    let pitch = (WIDTH - 2.0 * MARGIN) / BANDS as f64;
    let height = |loss_db: f64| (HEIGHT - 2.0 * MARGIN) * (-loss_db / DEPTH_DB).clamp(0.0, 1.0);
    let mut body = String::new();
    for band in 0..BANDS {
        let left = MARGIN + pitch * band as f64;
        for (losses, class, part) in [
            (&comparison.before.losses_db, "hollow", 0.7),
            (&comparison.after.losses_db, "full", 0.4),
        ] {
            if let Some(loss_db) = losses[band] {
                let _ = write!(
                    body,
                    "<rect class=\"{class}\" x=\"{:.1}\" y=\"{MARGIN}\" width=\"{:.1}\" height=\"{:.1}\"/>",
                    left + 0.5 * (1.0 - part) * pitch,
                    part * pitch,
                    height(loss_db).max(1.0)
                );
            }
        }
        if band % 5 == 0 {
            put_text(&mut body, left + 0.5 * pitch, HEIGHT - 8.0, band_name(band));
        }
    }
    for db in [0, -12, -24] {
        put_text(
            &mut body,
            12.0,
            MARGIN + height(f64::from(db)) + 4.0,
            &db.to_string().replace('-', "−"),
        );
    }
    svg(
        "Mono-sum loss per third octave, dB: before hollow, after full",
        &body,
    )
}

fn put_text(body: &mut String, x: f64, y: f64, text: &str) {
    let _ = write!(
        body,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\">{text}</text>"
    );
}

fn svg(title: &str, body: &str) -> String {
    format!(
        "<figure><figcaption>{title}</figcaption><svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-label=\"{title}\">{body}</svg></figure>"
    )
}
