//! The decks over a file: the moving deck's offset with its null points and bar lines, and what the comb takes out.

use super::drawing::{Drawing, TextAnchor, decimals, round_step, signed};
use crate::decks::{Bars, Column, NullPoint, ROWS, Rendered, SPAN_HZ};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 452.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 544.0;
/// Upper and lower edge of the offset's field, and of the comb's.
const OFFSET: (f64, f64) = (42.0, 196.0);
const COMB: (f64, f64) = (240.0, 424.0);
/// The offset's scale never shows less than this either way, ms.
const LEAST_MS: f64 = 0.1;
/// Width of the words at a null point.
const WORDS: f64 = 150.0;
/// Width of one shade of the key.
const KEY: f64 = 64.0;
/// Most bar lines.
const MOST_BARS: f64 = 16.0;
/// What is taken out, dB, from which on the ink gets darker.
const SHADES_DB: [f64; 5] = [-1.5, -4.5, -9.0, -15.0, -24.0];
/// Frequencies that are lettered, Hz.
const LETTERED_HZ: [(f64, &str); 7] = [
    (100.0, "100"),
    (250.0, "250"),
    (500.0, "500"),
    (1000.0, "1k"),
    (2500.0, "2.5k"),
    (5000.0, "5k"),
    (10000.0, "10k"),
];

/// Seconds to pixels.
struct Across {
    length_s: f64,
}

impl Across {
    fn x(&self, at_s: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * (at_s / self.length_s.max(1e-3)).clamp(0.0, 1.0)
    }
}

/// Draws both fields on one sheet.
pub fn draw(rendered: &Rendered, bars: &Bars, sample_rate: f64) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, "Offset of the moving deck, ms");
    let across = Across {
        length_s: rendered.frames as f64 / sample_rate,
    };
    comb(&mut drawing, &rendered.comb, &across);
    bar_lines(&mut drawing, bars, &across);
    let most_ms = most_ms(&rendered.course);
    let y = |offset_ms: f64| {
        let (top, bottom) = OFFSET;
        bottom - (bottom - top) * (0.5 + 0.5 * offset_ms / most_ms)
    };
    rows(&mut drawing, most_ms, y);
    course(&mut drawing, &rendered.course, &across, y);
    nulls(
        &mut drawing,
        &rendered.nulls,
        bars,
        &across,
        sample_rate,
        y(0.0),
    );
    drawing.finish(&format!(
        "Offset of the moving deck over {:.1} s with {} null points, and the comb it makes",
        across.length_s,
        rendered.nulls.len()
    ))
}

/// Half the height of the offset's scale.
fn most_ms(course: &[(f64, Option<f64>)]) -> f64 {
    let offsets = course.iter().filter_map(|(_, offset_s)| *offset_s);
    let farthest = offsets.fold(0.0, |most: f64, offset_s| most.max(offset_s.abs() * 1e3));
    (1.15 * farthest).max(LEAST_MS)
}

fn rows(drawing: &mut Drawing, most_ms: f64, y: impl Fn(f64) -> f64) {
    let step = round_step(2.0 * most_ms, 6.0);
    let last = (most_ms / step + 1e-9).floor() as i32;
    for row in -last..=last {
        let offset_ms = f64::from(row) * step;
        let class = if row == 0 { "ink" } else { "grid" };
        drawing.line(class, (LEFT, y(offset_ms)), (RIGHT, y(offset_ms)));
        let text = signed(offset_ms, decimals(step));
        let at = (LEFT - 8.0, y(offset_ms) + 4.0);
        drawing.text("small figures", at, TextAnchor::End, &text);
    }
}

/// Bar lines through both fields, numbered between them and below.
fn bar_lines(drawing: &mut Drawing, bars: &Bars, across: &Across) {
    let last = bars.bar(across.length_s + 1e-6);
    let step = round_step((last - 1.0).max(1.0), MOST_BARS).max(1.0);
    for line in 0..=((last - 1.0) / step).max(0.0).floor() as u32 {
        let bar = 1.0 + f64::from(line) * step;
        let x = across.x(bars.seconds(bar));
        for (top, bottom) in [OFFSET, COMB] {
            drawing.line("grid", (x, top), (x, bottom));
            let at = (x, bottom + 16.0);
            drawing.text(
                "small figures",
                at,
                TextAnchor::Middle,
                &format!("{bar:.0}"),
            );
        }
    }
    for (top, bottom) in [OFFSET, COMB] {
        drawing.line("thin", (LEFT, bottom), (RIGHT, bottom));
        drawing.line("thin", (LEFT, top), (LEFT, bottom));
    }
}

/// The offset; where the deck is re-cued in a cross-fade the line ends and begins anew.
fn course(
    drawing: &mut Drawing,
    course: &[(f64, Option<f64>)],
    across: &Across,
    y: impl Fn(f64) -> f64,
) {
    for stretch in course.split(|(_, offset_s)| offset_s.is_none()) {
        let points: Vec<_> = stretch
            .iter()
            .filter_map(|(at_s, offset_s)| Some((across.x(*at_s), y(offset_s.as_ref()? * 1e3))))
            .collect();
        if !points.is_empty() {
            drawing.path("accent", &points);
        }
    }
}

fn nulls(
    drawing: &mut Drawing,
    nulls: &[NullPoint],
    bars: &Bars,
    across: &Across,
    sample_rate: f64,
    y: f64,
) {
    let mut lettered_to = LEFT;
    // A rest is no point: there the line lies on zero.
    let passed = nulls.iter().filter(|null| !null.rests(sample_rate));
    for null in passed {
        let at_s = null.middle() / sample_rate;
        let x = across.x(at_s);
        drawing.circle("ink paper", (x, y), 4.0);
        // Where two are too near for their words, the first one has them.
        let left = x.min(RIGHT - WORDS);
        if left >= lettered_to {
            let words = format!("null point, {}", bars.words(at_s));
            drawing.text("small", (left, OFFSET.0 - 6.0), TextAnchor::Start, &words);
            drawing.line("thin dash", (x, OFFSET.0 - 2.0), (x, y - 4.0));
            lettered_to = left + WORDS;
        }
    }
}

/// The darker, the more is taken out.
fn comb(drawing: &mut Drawing, columns: &[Column], across: &Across) {
    drawing.text(
        "caption",
        (12.0, COMB.0 - 12.0),
        TextAnchor::Start,
        "What the comb takes out, Hz",
    );
    key(drawing);
    let apart_s = columns.get(1).map_or(0.0, |column| column.at_s);
    // On tenths of a pixel, as the sheet keeps them: no seam between two columns.
    let edge = |at_s: f64| (10.0 * across.x(at_s)).round() / 10.0;
    for column in columns {
        let (left, right) = (
            edge(column.at_s - 0.5 * apart_s),
            edge(column.at_s + 0.5 * apart_s),
        );
        for (shade, from, to) in runs(&column.powers) {
            let (top, bottom) = (row_y(to), row_y(from));
            drawing.rect(shade, (left, top), (right - left, bottom - top));
        }
    }
    for (hz, text) in LETTERED_HZ {
        let (low, high) = SPAN_HZ;
        let y = row_y(0) - (COMB.1 - COMB.0) * (hz / low).ln() / (high / low).ln();
        drawing.line("thin", (LEFT - 4.0, y), (LEFT, y));
        drawing.text(
            "small figures",
            (LEFT - 8.0, y + 4.0),
            TextAnchor::End,
            text,
        );
    }
}

/// Lower edge of a row.
fn row_y(row: usize) -> f64 {
    COMB.1 - (COMB.1 - COMB.0) * row as f64 / ROWS as f64
}

/// Classes of the ink, the lightest first.
const SHADES: [&str; 5] = ["shade-1", "shade-2", "shade-3", "shade-4", "shade-5"];

/// Neighbouring rows of one shade, white ones left out: class, first row, row after the last.
fn runs(powers: &[f64]) -> Vec<(&'static str, usize, usize)> {
    let shades: Vec<usize> = powers.iter().map(|power| shade(*power)).collect();
    let mut row = 0;
    let mut runs = Vec::new();
    for run in shades.chunk_by(|a, b| a == b) {
        if let Some(class) = run[0].checked_sub(1) {
            runs.push((SHADES[class], row, row + run.len()));
        }
        row += run.len();
    }
    runs
}

/// How dark, 0 for paper.
fn shade(power: f64) -> usize {
    let level_db = 10.0 * power.max(1e-12).log10();
    SHADES_DB.iter().filter(|edge| level_db < **edge).count()
}

fn key(drawing: &mut Drawing) {
    let mut x = RIGHT - KEY * SHADES.len() as f64;
    for (class, edge) in SHADES.iter().zip(SHADES_DB) {
        drawing.rect(class, (x, COMB.0 - 21.0), (10.0, 10.0));
        let at = (x + 14.0, COMB.0 - 12.0);
        let decimals = if edge.fract() == 0.0 { 0 } else { 1 };
        let words = format!("{} dB", signed(edge, decimals));
        drawing.text("small figures", at, TextAnchor::Start, &words);
        x += KEY;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_deeper_the_darker_and_whole_stretches_are_one_stroke() {
        assert_eq!(shade(1.0), 0);
        assert_eq!(shade(0.5), 1);
        assert_eq!(shade(0.0), 5);
        let runs = runs(&[1.0, 0.5, 0.5, 0.0]);
        assert_eq!(runs, [("shade-1", 1, 3), ("shade-5", 3, 4)]);
    }
}
