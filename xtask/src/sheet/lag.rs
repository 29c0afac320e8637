//! The lag curve of the hits, with the Attack and the Body mark.

use plumbline_dsp::measurement::Lag;

use super::drawing::{Drawing, Point, TextAnchor, decimals, round_step, signed};
use crate::alignment::LagPoint;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 190.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 532.0;
const TOP: f64 = 46.0;
const BOTTOM: f64 = 156.0;

/// Draws correlation over lag.
pub fn draw(curve: &[LagPoint], gap: &Lag) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, "Lag, second after first, ms");
    let reach_s = curve.last().map_or(1e-3, |point| point.lag_s);
    let x = |lag_s: f64| LEFT + (RIGHT - LEFT) * (0.5 + 0.5 * (lag_s / reach_s).clamp(-1.0, 1.0));
    let y = |correlation: f64| {
        (TOP + BOTTOM) / 2.0 - (BOTTOM - TOP) / 2.0 * correlation.clamp(-1.0, 1.0)
    };
    axes(&mut drawing, reach_s, x, y);
    let points: Vec<Point> = curve
        .iter()
        .map(|point| (x(point.lag_s), y(point.correlation)))
        .collect();
    drawing.path("ink", &points);
    marks(&mut drawing, x(gap.attack_s), x(gap.body_s));
    drawing.finish(&format!(
        "Lag curve: attack at {} ms, body at {} ms",
        signed(gap.attack_s * 1e3, 3),
        signed(gap.body_s * 1e3, 3)
    ))
}

fn axes(drawing: &mut Drawing, reach_s: f64, x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) {
    let step = round_step(2e3 * reach_s, 9.0);
    let most = (reach_s * 1e3 / step + 1e-9).floor() as i32;
    for tick in -most..=most {
        let at_ms = f64::from(tick) * step;
        let at = x(at_ms / 1e3);
        drawing.line("grid", (at, TOP), (at, BOTTOM));
        drawing.text(
            "small figures",
            (at, BOTTOM + 18.0),
            TextAnchor::Middle,
            &signed(at_ms, decimals(step)),
        );
    }
    for (correlation, text) in [(1.0, "+1"), (0.0, "0"), (-1.0, "−1")] {
        drawing.line("thin", (LEFT, y(correlation)), (RIGHT, y(correlation)));
        drawing.text(
            "small figures",
            (LEFT - 8.0, y(correlation) + 4.0),
            TextAnchor::End,
            text,
        );
    }
}

/// Attack and Body, lettered away from each other.
fn marks(drawing: &mut Drawing, attack: f64, body: f64) {
    drawing.line("accent", (attack, TOP - 4.0), (attack, BOTTOM + 4.0));
    drawing.line("ink dash", (body, TOP - 4.0), (body, BOTTOM + 4.0));
    let (attack_hang, body_hang) = if attack <= body {
        (TextAnchor::End, TextAnchor::Start)
    } else {
        (TextAnchor::Start, TextAnchor::End)
    };
    drawing.text(
        "small accent-text",
        beside(attack, attack_hang),
        attack_hang,
        "Attack",
    );
    drawing.text("small", beside(body, body_hang), body_hang, "Body");
}

fn beside(x: f64, hang: TextAnchor) -> Point {
    let aside = if hang == TextAnchor::End { -5.0 } else { 5.0 };
    (x + aside, TOP - 6.0)
}
