//! Every hit of the take as a dot: when it was played, and how much later it reached the second overhead.

use plumbline_dsp::measurement::{Hit, HitOutcome, Lag};

use super::drawing::{Drawing, TextAnchor, decimals, round_step, signed};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 190.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 544.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 156.0;
/// The scale never shows less than this around the gap, ms: below it the dots would look scattered when they are not.
const LEAST_SPAN_MS: f64 = 0.05;

/// Other drums farther from the gap than this lie on the edge, seconds.
const FAR_S: f64 = 0.0015;

/// Draws the dots, those of the chosen drum's number full; refused hits are ticks on the lower edge.
pub fn draw(log: &[Hit], chosen: Option<u8>, gap: &Lag, length_s: f64) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, "Arrivals: second after first, ms");
    let (low, high) = span(log, gap);
    let x = |at_s: f64| LEFT + (RIGHT - LEFT) * (at_s / length_s.max(1e-3)).clamp(0.0, 1.0);
    let y =
        |gap_s: f64| BOTTOM - (BOTTOM - TOP) * ((gap_s * 1e3 - low) / (high - low)).clamp(0.0, 1.0);
    let off_scale = |gap_s: f64| !(low..=high).contains(&(gap_s * 1e3));
    rows(&mut drawing, low, high, y);
    columns(&mut drawing, length_s, x);
    drawing.line("accent", (LEFT, y(gap.attack_s)), (RIGHT, y(gap.attack_s)));
    for hit in log {
        match hit.outcome {
            HitOutcome::Counted {
                drum,
                gap_s: Some(gap_s),
            } if off_scale(gap_s) => {
                let class = if Some(drum) == chosen { "ink" } else { "thin" };
                let edge = if gap_s * 1e3 > high {
                    Edge::Upper
                } else {
                    Edge::Lower
                };
                beyond(&mut drawing, class, x(hit.at_s), edge);
            }
            HitOutcome::Counted {
                drum,
                gap_s: Some(gap_s),
            } if Some(drum) == chosen => drawing.circle("dot", (x(hit.at_s), y(gap_s)), 3.2),
            HitOutcome::Counted {
                gap_s: Some(gap_s), ..
            } => drawing.circle("ghost", (x(hit.at_s), y(gap_s)), 3.0),
            // Its front is covered: it is used, and says no gap of its own.
            HitOutcome::Counted { gap_s: None, .. } => {
                drawing.line("grid", (x(hit.at_s), BOTTOM - 5.0), (x(hit.at_s), BOTTOM));
            }
            _ => drawing.line("thin", (x(hit.at_s), BOTTOM - 5.0), (x(hit.at_s), BOTTOM)),
        }
    }
    drawing.text(
        "small",
        (RIGHT, 20.0),
        TextAnchor::End,
        "full: the drum that is aligned · open: other drums · arrow: beyond the scale · tick: not used",
    );
    drawing.finish(&format!(
        "Arrivals of {} hits around {} ms",
        log.len(),
        signed(gap.attack_s * 1e3, 3)
    ))
}

/// The edge that a hit lies beyond.
#[derive(Clone, Copy, Debug)]
enum Edge {
    Upper,
    Lower,
}

/// An arrow at the edge: the hit lies beyond the scale.
fn beyond(drawing: &mut Drawing, class: &str, x: f64, edge: Edge) {
    let (tip, foot) = match edge {
        Edge::Upper => (TOP, TOP + 6.0),
        Edge::Lower => (BOTTOM, BOTTOM - 6.0),
    };
    drawing.path(class, &[(x - 3.5, foot), (x, tip), (x + 3.5, foot)]);
}

/// Lowest and highest gap shown, ms: all counted hits near the gap with some air.
fn span(log: &[Hit], gap: &Lag) -> (f64, f64) {
    let counted = log.iter().filter_map(|hit| match hit.outcome {
        HitOutcome::Counted {
            gap_s: Some(gap_s), ..
        } if (gap_s - gap.attack_s).abs() < FAR_S => Some(gap_s * 1e3),
        _ => None,
    });
    let start = (gap.attack_s * 1e3, gap.attack_s * 1e3);
    let (low, high) = counted.fold(start, |(low, high), gap_ms| {
        (low.min(gap_ms), high.max(gap_ms))
    });
    let air = (0.15 * (high - low)).max(LEAST_SPAN_MS);
    (low - air, high + air)
}

fn rows(drawing: &mut Drawing, low: f64, high: f64, y: impl Fn(f64) -> f64) {
    let step = round_step(high - low, 5.0);
    let (first, last) = ((low / step).ceil() as i32, (high / step).floor() as i32);
    for row in first..=last {
        let gap_ms = f64::from(row) * step;
        drawing.line("grid", (LEFT, y(gap_ms / 1e3)), (RIGHT, y(gap_ms / 1e3)));
        let text = signed(gap_ms, decimals(step));
        drawing.text(
            "small figures",
            (LEFT - 8.0, y(gap_ms / 1e3) + 4.0),
            TextAnchor::End,
            &text,
        );
    }
}

fn columns(drawing: &mut Drawing, length_s: f64, x: impl Fn(f64) -> f64) {
    drawing.line("thin", (LEFT, BOTTOM), (RIGHT, BOTTOM));
    let step = round_step(length_s, 8.0);
    for column in 0..=(length_s / step + 1e-9).floor() as i32 {
        let at_s = f64::from(column) * step;
        let text = format!("{at_s:.*} s", decimals(step));
        drawing.line("thin", (x(at_s), BOTTOM), (x(at_s), BOTTOM + 4.0));
        drawing.text(
            "small figures",
            (x(at_s), BOTTOM + 18.0),
            TextAnchor::Middle,
            &text,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hit_beyond_the_scale_is_an_arrow_and_no_dot() {
        let counted = |at_s, gap_s| Hit {
            at_s,
            outcome: HitOutcome::Counted {
                drum: 1,
                gap_s: Some(gap_s),
            },
        };
        let gap = Lag {
            attack_s: 1e-4,
            ..Lag::default()
        };
        let drawn = draw(
            &[counted(1.0, 1e-4), counted(2.0, 5e-3)],
            Some(1),
            &gap,
            4.0,
        );
        assert_eq!(drawn.matches("class=\"dot\"").count(), 1, "{drawn}");
        assert_eq!(
            drawn.matches("<path").count() + drawn.matches("<polyline").count(),
            1,
            "{drawn}"
        );
    }
}
