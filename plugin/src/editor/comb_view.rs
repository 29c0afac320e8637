//! The comb as it is now: what the sum of both decks lets through at each frequency, its nulls named.

use super::decks::Decks;
use super::frame::{Channels, Frame};
use super::ink::{figures, words};
use super::pen::{Pen, panel, plain};
use egui::{Align2, Color32, Pos2, Rect, Role, Sense, Ui, WidgetInfo, lerp, pos2, vec2};
use plumbline_dsp::meters::comb::Comb;

/// Edges of the scale, Hz.
const LOWEST: f64 = 20.0;
const HIGHEST: f64 = 20_000.0;
/// Foot of the scale, dB.
const DEPTH_DB: f64 = -36.0;
/// Lines across, with their names.
const MARKS: [(f64, &str); 10] = [
    (20.0, "20"),
    (50.0, "50"),
    (100.0, "100"),
    (200.0, "200"),
    (500.0, "500"),
    (1000.0, "1k"),
    (2000.0, "2k"),
    (5000.0, "5k"),
    (10_000.0, "10k"),
    (20_000.0, "20k"),
];
/// Nulls shallower than this are not named, dB.
const NAMED_DB: f64 = -3.0;
/// Most nulls that are looked at for a name.
const NAMED: u32 = 6;
/// Offsets closer than this to the null point are at it: the first null lies above 100 kHz.
const AT_NULL_S: f64 = 5e-6;

/// One channel's comb.
struct Curve {
    name: &'static str,
    comb: Comb,
    /// Amplitude of the louder deck.
    louder: f64,
    ink: Color32,
}

impl Curve {
    fn db(&self, hz: f64) -> f64 {
        let amplitude = self.louder * self.comb.magnitude(hz);
        20.0 * amplitude.max(1e-9).log10()
    }

    fn nulls(&self) -> impl Iterator<Item = f64> {
        nulls(self.comb)
    }
}

/// The first nulls on the scale, Hz.
fn nulls(comb: Comb) -> impl Iterator<Item = f64> {
    let named = comb.null_db() < NAMED_DB && comb.delay_s.abs() > AT_NULL_S;
    let all = (0..NAMED).map(move |index| comb.null_hz(index));
    all.filter(move |hz| named && (LOWEST..HIGHEST).contains(hz))
}

/// The first null of the first channel, Hz; `None` where nothing that is worth a name is taken out.
pub fn first_null_hz(frame: &Frame) -> Option<f64> {
    let decks = &frame.decks;
    let (comb, _) = decks.comb(decks.bearings().offset_s);
    nulls(comb).next()
}

/// Draws it.
pub fn comb_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, "Comb now, dB");
    let pen = Pen::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(
        inner.min + vec2(32.0, 4.0),
        pos2(inner.max.x - 8.0, inner.max.y - 16.0),
    );
    grid(&pen, room);
    let curves = curves(&pen, frame);
    describe(ui, rect, &curves);
    let trace = Rect::from_min_max(room.min, room.max - vec2(0.0, 18.0));
    for curve in &curves {
        pen.curve(points(trace, curve), 1.5, curve.ink);
    }
    names(&pen, room, &curves[0]);
    legend(&pen, rect, &curves);
}

/// The first channel last, so that it lies on top; one curve where both channels are alike.
fn curves(pen: &Pen, frame: &Frame) -> Vec<Curve> {
    let decks: &Decks = &frame.decks;
    let offset_s = decks.bearings().offset_s;
    let curve = |name, part: f64, ink| {
        let (comb, louder) = decks.comb(part * offset_s);
        Curve {
            name,
            comb,
            louder,
            ink,
        }
    };
    let alike = frame.session.channels == Channels::Mono || decks.mix.width.abs() == 1.0;
    match alike {
        true => vec![curve("both", 1.0, pen.inks.ink)],
        false => vec![
            curve("first", 1.0, pen.inks.first),
            curve("second", decks.mix.width, pen.inks.second),
        ],
    }
}

fn describe(ui: &Ui, rect: Rect, curves: &[Curve]) {
    let text = |curve: &Curve| {
        let nulls: Vec<String> = curve.nulls().take(3).map(hertz).collect();
        match nulls.is_empty() {
            true => "no nulls".to_owned(),
            false => format!("nulls at {}", nulls.join(", ")),
        }
    };
    let texts: Vec<String> = match curves {
        [one] => vec![text(one)],
        _ => curves
            .iter()
            .map(|c| format!("{} {}", c.name, text(c)))
            .collect(),
    };
    let text = format!("Comb now: {}", texts.join("; "));
    let response = ui.interact(rect, ui.scope_id().with("comb"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &text));
}

fn x(room: Rect, hz: f64) -> f32 {
    let part = (hz / LOWEST).ln() / (HIGHEST / LOWEST).ln();
    lerp(room.x_range(), part as f32)
}

fn hz_at(room: Rect, x: f32) -> f64 {
    let part = f64::from((x - room.min.x) / room.width());
    LOWEST * (HIGHEST / LOWEST).powf(part)
}

fn y(room: Rect, db: f64) -> f32 {
    lerp(room.y_range(), (db / DEPTH_DB).clamp(0.0, 1.0) as f32)
}

fn grid(pen: &Pen, room: Rect) {
    let trace = Rect::from_min_max(room.min, room.max - vec2(0.0, 18.0));
    for third in 0..=3 {
        let db = DEPTH_DB * f64::from(third) / 3.0;
        let at = y(trace, db);
        pen.line(
            pos2(room.min.x, at),
            pos2(room.max.x, at),
            1.0,
            pen.inks.grid,
        );
        pen.tick(
            pos2(room.min.x - 8.0, at),
            Align2::RIGHT_CENTER,
            plain(db, 0),
        );
    }
    for (hz, name) in MARKS {
        let at = x(room, hz);
        pen.line(
            pos2(at, trace.min.y),
            pos2(at, trace.max.y),
            0.8,
            pen.inks.grid,
        );
        let hang = if hz == HIGHEST {
            Align2::RIGHT_TOP
        } else {
            Align2::CENTER_TOP
        };
        pen.tick(pos2(at, room.max.y + 3.0), hang, name);
    }
}

/// One point a column, and the null and the peak that lie inside a column: none is missed however close they come.
fn points(room: Rect, curve: &Curve) -> Vec<Pos2> {
    let columns = room.width().max(1.0) as usize;
    let delay_s = curve.comb.delay_s.abs();
    let half_turns = |hz: f64| 2.0 * hz * delay_s;
    let mut points = Vec::with_capacity(3 * columns);
    let mut last = 0.0;
    for column in 0..=columns {
        let at = room.min.x + room.width() * column as f32 / columns as f32;
        let hz = hz_at(room, at);
        // Peaks and nulls take turns, half a turn apart; where they begin does not matter here.
        let here = half_turns(hz);
        if column > 0 && here.floor() > f64::floor(last) {
            let turn_hz = here.floor() / 2.0 / delay_s;
            points.push(pos2(x(room, turn_hz), y(room, curve.db(turn_hz))));
            if here - last > 1.0 {
                let before_hz = turn_hz - 0.5 / delay_s;
                points.push(pos2(x(room, turn_hz), y(room, curve.db(before_hz))));
            }
        }
        points.push(pos2(at, y(room, curve.db(hz))));
        last = here;
    }
    points
}

/// Names under the first nulls, as many as there is room for.
fn names(pen: &Pen, room: Rect, curve: &Curve) {
    let mut free_from = room.min.x - 20.0;
    for hz in curve.nulls() {
        let at = x(room, hz);
        let text = hertz(hz);
        let half = 4.0 * text.chars().count() as f32;
        if at - half < free_from || at + half > room.max.x {
            continue;
        }
        let place = pos2(at, room.max.y - 8.0);
        pen.slip(
            place,
            Align2::CENTER_CENTER,
            text,
            figures(11.5),
            pen.inks.second,
        );
        free_from = at + half + 6.0;
    }
}

/// "760 Hz" is "760", "2270 Hz" is "2.27k".
fn hertz(hz: f64) -> String {
    match hz {
        hz if hz < 1000.0 => plain(hz, 0),
        hz if hz < 10_000.0 => format!("{}k", plain(hz / 1000.0, 2)),
        hz => format!("{}k", plain(hz / 1000.0, 1)),
    }
}

/// Which curve is whose, where there are two.
fn legend(pen: &Pen, rect: Rect, curves: &[Curve]) {
    if curves.len() < 2 {
        return;
    }
    let mut right = rect.max.x - 12.0;
    for curve in curves.iter().rev() {
        let at = pos2(right, rect.min.y + 17.0);
        right = pen
            .text(at, Align2::RIGHT_CENTER, curve.name, words(12.0), curve.ink)
            .min
            .x
            - 12.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_nulls() {
        assert_eq!(hertz(757.6), "758");
        assert_eq!(hertz(2272.7), "2.27k");
        assert_eq!(hertz(12_345.0), "12.3k");
    }
}
