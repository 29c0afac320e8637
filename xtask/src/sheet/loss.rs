//! What the mono sum loses per third octave, before and after.

use super::drawing::{Drawing, TextAnchor, decimals, round_step, signed};
use crate::alignment::BandLoss;

const WIDTH: f64 = 464.0;
const HEIGHT: f64 = 190.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 452.0;
const TOP: f64 = 42.0;
const BOTTOM: f64 = 156.0;
/// Depth of the scale when little is lost, and its greatest depth, dB.
const DEPTH_DB: (f64, f64) = (6.0, 24.0);
/// Bands that are lettered, Hz.
const LETTERED: [(f64, &str); 8] = [
    (31.5, "31.5"),
    (63.0, "63"),
    (100.0, "100"),
    (200.0, "200"),
    (500.0, "500"),
    (1000.0, "1k"),
    (2000.0, "2k"),
    (5000.0, "5k"),
];

/// Draws both as bars hanging from 0 dB: outlined before, filled after.
pub fn draw(before: &[BandLoss], after: &[BandLoss]) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, "Mono-sum loss per third octave, dB");
    let worst = before
        .iter()
        .chain(after)
        .fold(0.0, |worst: f64, band| worst.max(-band.loss_db));
    let depth = (worst / 3.0).ceil() * 3.0;
    let depth = depth.clamp(DEPTH_DB.0, DEPTH_DB.1);
    let height = |loss_db: f64| (BOTTOM - TOP) * (-loss_db / depth).clamp(0.0, 1.0);
    rows(&mut drawing, depth, height);
    let pitch = (RIGHT - LEFT) / before.len().max(1) as f64;
    for (n, (was, is)) in before.iter().zip(after).enumerate() {
        let left = LEFT + pitch * n as f64;
        drawing.rect(
            "bar-before",
            (left + 0.18 * pitch, TOP),
            (0.64 * pitch, height(was.loss_db).max(0.8)),
        );
        drawing.rect(
            "bar-after",
            (left + 0.34 * pitch, TOP),
            (0.32 * pitch, height(is.loss_db).max(0.8)),
        );
        if let Some((_, text)) = LETTERED
            .iter()
            .find(|(hz, _)| (was.hz / hz - 1.0).abs() < 0.03)
        {
            drawing.text(
                "small figures",
                (left + 0.5 * pitch, BOTTOM + 18.0),
                TextAnchor::Middle,
                text,
            );
        }
    }
    key(&mut drawing);
    drawing.finish(
        "Loss of the mono sum against two coherent channels, 31.5 Hz to 5 kHz, before and after",
    )
}

fn rows(drawing: &mut Drawing, depth: f64, height: impl Fn(f64) -> f64) {
    let step = round_step(depth, 4.0).max(1.0);
    for row in 0..=(depth / step + 1e-9).floor() as i32 {
        let loss_db = -f64::from(row) * step;
        let y = TOP + height(loss_db);
        drawing.line("grid", (LEFT, y), (RIGHT, y));
        drawing.text(
            "small figures",
            (LEFT - 8.0, y + 4.0),
            TextAnchor::End,
            &signed(loss_db, decimals(step)),
        );
    }
}

fn key(drawing: &mut Drawing) {
    drawing.rect("bar-before", (RIGHT - 116.0, 11.0), (8.0, 11.0));
    drawing.text("small", (RIGHT - 104.0, 21.0), TextAnchor::Start, "before");
    drawing.rect("bar-after", (RIGHT - 50.0, 11.0), (8.0, 11.0));
    drawing.text("small", (RIGHT - 38.0, 21.0), TextAnchor::Start, "after");
}
