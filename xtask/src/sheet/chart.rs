//! A chart on the sheet: two ruled axes, lines and dots of measured figures, and their names beside them.

use super::drawing::{Drawing, Point, TextAnchor, decimals, round_step, signed};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 420.0;
const TOP: f64 = 40.0;
const BOTTOM: f64 = 200.0;
/// Most ruled lines along an axis.
const LINES: f64 = 7.0;

/// How an axis is ruled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ruling {
    /// Equal steps.
    Linear,
    /// Equal ratios, a line at 1, 2 and 5 of each decade.
    Logarithmic,
}

/// One axis: what it says and from where to where it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis<'a> {
    /// Quantity and unit.
    pub name: &'a str,
    pub from: f64,
    pub to: f64,
    pub ruling: Ruling,
}

/// How a series is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A line in ink.
    Line,
    /// A broken line: what is wanted, or a formula.
    Dashed,
    /// A line in the accent colour.
    Accent,
    /// Dots.
    Dots,
}

/// One set of points with its name.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    pub name: String,
    pub mark: Mark,
    pub points: Vec<(f64, f64)>,
}

impl<'a> Axis<'a> {
    /// Ruled in equal steps.
    pub const fn linear(name: &'a str, from: f64, to: f64) -> Self {
        let ruling = Ruling::Linear;
        Self {
            name,
            from,
            to,
            ruling,
        }
    }

    /// Ruled in equal ratios.
    pub const fn logarithmic(name: &'a str, from: f64, to: f64) -> Self {
        let ruling = Ruling::Logarithmic;
        Self {
            name,
            from,
            to,
            ruling,
        }
    }

    /// Where a value lies between the ends, 0 to 1.
    fn part(&self, value: f64) -> f64 {
        let part = match self.ruling {
            Ruling::Linear => (value - self.from) / (self.to - self.from),
            Ruling::Logarithmic => (value / self.from).ln() / (self.to / self.from).ln(),
        };
        part.clamp(0.0, 1.0)
    }

    /// Values with a ruled line, and what is lettered there.
    fn lines(&self) -> Vec<(f64, String)> {
        match self.ruling {
            Ruling::Linear => {
                let step = round_step(self.to - self.from, LINES);
                let first = (self.from / step - 1e-9).ceil() as i32;
                let last = (self.to / step + 1e-9).floor() as i32;
                let value = |tick: i32| f64::from(tick) * step;
                (first..=last)
                    .map(|tick| (value(tick), plain(value(tick), decimals(step))))
                    .collect()
            }
            Ruling::Logarithmic => {
                let decades = self.from.log10().floor() as i32..=self.to.log10().ceil() as i32;
                decades
                    .flat_map(|decade| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(decade)))
                    .filter(|value| (self.from * 0.999..=self.to * 1.001).contains(value))
                    .map(|value| (value, short(value)))
                    .collect()
            }
        }
    }
}

/// A number with a real minus and without a plus.
fn plain(value: f64, decimals: usize) -> String {
    signed(value, decimals).trim_start_matches('+').to_owned()
}

/// 20, 500, 2k, 0.05.
fn short(value: f64) -> String {
    match value {
        v if v >= 1000.0 => format!("{}k", (v / 1000.0).round()),
        v if v >= 0.95 => format!("{}", v.round()),
        v => format!("{v:.3}")
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned(),
    }
}

/// Draws the series over both axes; their names stand at the right in the order given.
pub fn draw(title: &str, across: Axis<'_>, up: Axis<'_>, series: &[Series]) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, title);
    let at = |(x, y): (f64, f64)| -> Point {
        (
            LEFT + (RIGHT - LEFT) * across.part(x),
            BOTTOM - (BOTTOM - TOP) * up.part(y),
        )
    };
    rule(&mut drawing, &across, &up, &at);
    for (row, series) in series.iter().enumerate() {
        let points: Vec<Point> = series.points.iter().map(|point| at(*point)).collect();
        plot(&mut drawing, series.mark, &points);
        legend(&mut drawing, row, series);
    }
    let names: Vec<&str> = series.iter().map(|series| series.name.as_str()).collect();
    drawing.finish(&format!(
        "{title}: {} over {}: {}",
        up.name,
        across.name,
        names.join(", ")
    ))
}

fn rule(
    drawing: &mut Drawing,
    across: &Axis<'_>,
    up: &Axis<'_>,
    at: &impl Fn((f64, f64)) -> Point,
) {
    for (value, text) in across.lines() {
        let (x, _) = at((value, up.from));
        drawing.line("grid", (x, TOP), (x, BOTTOM));
        let under = (x, BOTTOM + 15.0);
        drawing.text("small figures", under, TextAnchor::Middle, &text);
    }
    for (value, text) in up.lines() {
        let (_, y) = at((across.from, value));
        drawing.line("grid", (LEFT, y), (RIGHT, y));
        let beside = (LEFT - 6.0, y + 4.0);
        drawing.text("small figures", beside, TextAnchor::End, &text);
    }
    drawing.line("thin", (LEFT, TOP), (LEFT, BOTTOM));
    drawing.line("thin", (LEFT, BOTTOM), (RIGHT, BOTTOM));
    drawing.text(
        "small",
        (RIGHT, BOTTOM + 31.0),
        TextAnchor::End,
        across.name,
    );
    drawing.text("small", (12.0, TOP - 7.0), TextAnchor::Start, up.name);
}

fn plot(drawing: &mut Drawing, mark: Mark, points: &[Point]) {
    match mark {
        Mark::Dots => {
            for point in points {
                drawing.circle("dot", *point, 2.0);
            }
        }
        _ => drawing.path(class(mark), points),
    }
}

fn class(mark: Mark) -> &'static str {
    match mark {
        Mark::Line | Mark::Dots => "ink",
        Mark::Dashed => "ink dash",
        Mark::Accent => "accent",
    }
}

fn legend(drawing: &mut Drawing, row: usize, series: &Series) {
    let y = TOP + 8.0 + 18.0 * row as f64;
    let (from, to) = ((RIGHT + 12.0, y), (RIGHT + 30.0, y));
    match series.mark {
        Mark::Dots => drawing.circle("dot", (RIGHT + 21.0, y), 2.0),
        mark => drawing.line(class(mark), from, to),
    }
    let beside = (RIGHT + 36.0, y + 4.0);
    drawing.text("small", beside, TextAnchor::Start, &series.name);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axes_are_ruled_at_round_values() {
        let texts = |axis: Axis<'_>| -> Vec<String> {
            axis.lines().into_iter().map(|(_, text)| text).collect()
        };
        let linear = texts(Axis::linear("", -150.0, -90.0));
        assert_eq!(
            linear,
            ["−150", "−140", "−130", "−120", "−110", "−100", "−90"]
        );
        let octaves = texts(Axis::logarithmic("", 20.0, 2000.0));
        assert_eq!(octaves, ["20", "50", "100", "200", "500", "1k", "2k"]);
    }

    #[test]
    fn values_outside_stay_on_the_edge() {
        let axis = Axis::logarithmic("", 1.0, 100.0);
        for (value, part) in [(0.1, 0.0), (1.0, 0.0), (10.0, 0.5), (1e4, 1.0)] {
            assert!((axis.part(value) - part).abs() < 1e-12, "{value}");
        }
    }
}
