//! A drawing as inline SVG: thin lines, small lettering, dimension lines with slanted ends.

use std::fmt::Write;

/// The sheet's lettering and ink.
pub const STYLE: &str = include_str!("style.css");

/// One drawing. Coordinates are pixels of its own sheet, y downwards.
pub struct Drawing {
    width: f64,
    height: f64,
    body: String,
}

/// Where a text lies against its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextAnchor {
    /// The point is at its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// A point on the sheet.
pub type Point = (f64, f64);

impl Drawing {
    /// An empty sheet with a title in its upper left corner.
    pub fn new(width: f64, height: f64, title: &str) -> Self {
        let mut drawing = Self {
            width,
            height,
            body: String::new(),
        };
        drawing.rect("panel", (0.5, 0.5), (width - 1.0, height - 1.0));
        drawing.text("caption", (12.0, 20.0), TextAnchor::Start, title);
        drawing
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, from: Point, to: Point) {
        self.put(format_args!(
            r#"<line class="{class}" x1="{:.1}" y1="{:.1}" x2="{:.1}" y2="{:.1}"/>"#,
            from.0, from.1, to.0, to.1
        ));
    }

    /// A line through points.
    pub fn path(&mut self, class: &str, points: &[Point]) {
        let points: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{x:.1},{y:.1}"))
            .collect();
        self.put(format_args!(
            r#"<polyline class="{class}" points="{}"/>"#,
            points.join(" ")
        ));
    }

    /// A circle.
    pub fn circle(&mut self, class: &str, middle: Point, radius: f64) {
        self.put(format_args!(
            r#"<circle class="{class}" cx="{:.1}" cy="{:.1}" r="{radius:.1}"/>"#,
            middle.0, middle.1
        ));
    }

    /// A rectangle from its upper left corner.
    pub fn rect(&mut self, class: &str, corner: Point, size: Point) {
        self.put(format_args!(
            r#"<rect class="{class}" x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}"/>"#,
            corner.0, corner.1, size.0, size.1
        ));
    }

    /// Lettering.
    pub fn text(&mut self, class: &str, at: Point, anchor: TextAnchor, text: &str) {
        let anchor = match anchor {
            TextAnchor::Start => "start",
            TextAnchor::Middle => "middle",
            TextAnchor::End => "end",
        };
        self.put(format_args!(
            r#"<text class="{class}" x="{:.1}" y="{:.1}" text-anchor="{anchor}">{}</text>"#,
            at.0,
            at.1,
            escape(text)
        ));
    }

    /// A dimension line beside the stretch from `from` to `to`, `aside` pixels away, with slanted ends.
    pub fn dimension(&mut self, class: &str, from: Point, to: Point, aside: f64) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = dx.hypot(dy).max(1e-9);
        let (nx, ny) = (-dy / length, dx / length);
        let moved = |point: Point, by: f64| (point.0 + nx * by, point.1 + ny * by);
        for end in [from, to] {
            let foot = moved(end, aside);
            self.line("thin", moved(end, aside * 0.35), moved(end, aside * 1.25));
            self.line(
                class,
                (foot.0 - 4.0, foot.1 + 4.0),
                (foot.0 + 4.0, foot.1 - 4.0),
            );
        }
        self.line(class, moved(from, aside), moved(to, aside));
    }

    /// The drawing as SVG, with a text for those who do not see it.
    pub fn finish(self, description: &str) -> String {
        format!(
            r#"<svg role="img" aria-label="{}" viewBox="0 0 {} {}">{}</svg>"#,
            escape(description),
            self.width,
            self.height,
            self.body
        )
    }

    fn put(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing into a String cannot fail.
        let _ = self.body.write_fmt(element);
        self.body.push('\n');
    }
}

/// Text made safe for HTML and SVG.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// A signed number with a real minus sign.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    if text[1..].chars().all(|c| c == '0' || c == '.') {
        text[1..].to_owned()
    } else {
        text.replace('-', "−")
    }
}

/// A round step that divides `span` into at most `most` parts: 1, 2 or 5 times a power of ten.
pub fn round_step(span: f64, most: f64) -> f64 {
    let rough = (span / most).max(1e-12);
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .map(|factor| factor * power)
        .into_iter()
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(rough)
}

/// Decimals that show a step of this size.
pub fn decimals(step: f64) -> usize {
    (-step.log10().floor()).clamp(0.0, 6.0) as usize
}

/// A drawing as a file of its own, on the light sheet; its lettering and ink come with it.
pub fn standalone(svg: &str) -> String {
    let own = STYLE.lines().filter(|line| line.starts_with("svg "));
    let mut style = own.collect::<Vec<_>>().join("\n");
    let (_, light) = STYLE.split_once('{').unwrap_or_default();
    let (light, _) = light.split_once('}').unwrap_or_default();
    // Not every program that opens an SVG knows CSS variables.
    for (name, value) in light.split(';').filter_map(|pair| pair.split_once(':')) {
        style = style.replace(&format!("var({})", name.trim()), value.trim());
    }
    let font = "font-family=\"Ubuntu, DejaVu Sans, sans-serif\"";
    let head = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {font} ");
    svg.replacen("<svg ", &head, 1)
        .replacen('>', &format!("><style>{style}</style>"), 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_has_no_sign_and_minus_is_a_minus() {
        assert_eq!(signed(-0.04, 1), "0.0");
        assert_eq!(signed(-1.25, 2), "−1.25");
        assert_eq!(signed(3.0, 0), "+3");
    }

    #[test]
    fn steps_are_round() {
        for (span, most, step) in [(10.0, 5.0, 2.0), (0.9, 4.0, 0.5), (7.0, 10.0, 1.0)] {
            assert!(
                (round_step(span, most) - step).abs() < 1e-12,
                "{span} in {most}"
            );
        }
    }

    #[test]
    fn names_of_files_cannot_break_the_page() {
        assert_eq!(escape(r#"<b>"&"#), "&lt;b&gt;&quot;&amp;");
    }
}
