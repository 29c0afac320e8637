//! Offset over time: where the moving deck has been, where it goes, the null line, and the bars of the song.

use crate::editor::drawing::{Canvas, digit_font, panel, signed, text_font};
use crate::editor::frame::{Frame, OffsetPoint};
use crate::editor::widgets::text_width;
use crate::editor::wording::{offset_words, readings};
use egui::{Align2, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, lerp, pos2, vec2};
use plumbline_dsp::decks::motion::{Motion, Pace};
use plumbline_dsp::decks::song_clock::SongPosition;

/// Part of the drawing that is past.
const PAST: f64 = 0.28;
/// Heights of the scale to choose from, to both sides, ms.
const REACHES_MS: [f64; 7] = [0.1, 0.2, 0.5, 1.0, 2.0, 4.0, 8.0];
const FARTHEST_MS: f64 = 16.0;
/// Fewest and most bars that are shown.
const BARS: (f64, f64) = (2.0, 24.0);
/// Bars that are shown where nothing comes back by itself.
const USUAL_BARS: f64 = 8.0;
/// Points of width for one point of the curve.
const STEP: f32 = 2.0;
const CAPTION: &str = "Offset of the moving deck, ms";
/// Room for the name of a null point, points.
const NAME: f32 = 118.0;

/// The scale of one drawing.
struct Scale {
    room: Rect,
    now: SongPosition,
    /// Quarter notes at the left and the right edge.
    from: f64,
    to: f64,
    reach_ms: f64,
}

impl Scale {
    fn new(room: Rect, frame: &Frame) -> Self {
        let now = frame.decks.bearings().position;
        let beats = bars(frame) * now.beats_per_bar;
        Self {
            room,
            now,
            from: now.beats - PAST * beats,
            to: now.beats + (1.0 - PAST) * beats,
            reach_ms: reach_ms(frame),
        }
    }

    fn x(&self, beats: f64) -> f32 {
        let part = (beats - self.from) / (self.to - self.from);
        lerp(self.room.x_range(), part as f32)
    }

    fn y(&self, offset_s: f64) -> f32 {
        let part = 0.5 - offset_s * 1000.0 / self.reach_ms / 2.0;
        lerp(self.room.y_range(), part.clamp(0.0, 1.0) as f32)
    }

    fn at(&self, point: &OffsetPoint) -> Pos2 {
        pos2(self.x(point.beats), self.y(point.offset_s))
    }

    /// The bar that begins at this quarter note, the song's first one being 1.
    fn bar(&self, beats: f64) -> i64 {
        (beats / self.now.beats_per_bar).round() as i64 + 1
    }
}

/// Draws it.
pub fn course_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, CAPTION);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(
        inner.min + vec2(32.0, 6.0),
        pos2(inner.max.x - 8.0, inner.max.y - 16.0),
    );
    let scale = Scale::new(room, frame);
    grid(&canvas, &scale);
    bar_lines(&canvas, &scale);
    let past = past(frame, &scale);
    let coming = coming(frame, &scale);
    let next_null = coming.windows(2).find_map(crossing);
    let readings = readings(frame, next_null);
    describe(ui, rect, frame, &readings);
    read_out(ui, &canvas, rect, &readings);
    let color = canvas.palette.second;
    canvas.curve(
        past.iter().map(|point| scale.at(point)).collect(),
        2.0,
        color,
    );
    let dashed: Vec<Pos2> = coming.iter().map(|point| scale.at(point)).collect();
    let stroke = Stroke::new(1.3, color);
    canvas
        .painter
        .extend(Shape::dashed_line(&dashed, stroke, 5.0, 4.0));
    let all: Vec<OffsetPoint> = past.iter().chain(&coming).copied().collect();
    null_points(&canvas, &scale, &all);
    now(&canvas, &scale, frame);
}

fn describe(ui: &Ui, rect: Rect, frame: &Frame, readings: &[String]) {
    let mut text = format!("Offset of the moving deck: {}", offset_words(frame));
    readings
        .iter()
        .for_each(|reading| text += &format!("; {reading}"));
    let response = ui.interact(rect, ui.scope_id().with("course"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &text));
}

/// As many readings in the caption's line as there is room for.
fn read_out(ui: &Ui, canvas: &Canvas, rect: Rect, readings: &[String]) {
    let room = rect.width() - 48.0 - text_width(ui, CAPTION, text_font(12.0));
    let lines = (1..=readings.len()).rev();
    let mut lines = lines.map(|count| readings[..count].join(" · "));
    if let Some(line) = lines.find(|line| text_width(ui, line, digit_font(11.5)) <= room) {
        let at = rect.right_top() + vec2(-12.0, 10.0);
        canvas.text(
            at,
            Align2::RIGHT_TOP,
            line,
            digit_font(11.5),
            canvas.palette.foreground,
        );
    }
}

/// Whole bars that show a travel and what comes after it.
fn bars(frame: &Frame) -> f64 {
    let course = &frame.decks.course;
    let position = frame.decks.bearings().position;
    let beats = match (course.motion, course.pace) {
        (Motion::Hand | Motion::Drag, _) => return USUAL_BARS,
        (_, Pace::Beats(beats)) => beats,
        (_, Pace::Hertz(hz)) => position.tempo_bpm / 60.0 / hz.max(1e-3),
    };
    let bars = 1.5 * beats / position.beats_per_bar;
    bars.clamp(BARS.0, BARS.1).ceil()
}

/// The lowest scale that holds where the deck may go and where it has been.
fn reach_ms(frame: &Frame) -> f64 {
    let course = &frame.decks.course;
    let range_s = match course.motion {
        Motion::Hand => 0.0,
        _ => course.range_s,
    };
    let been_s = frame
        .decks
        .history
        .points()
        .iter()
        .fold(0.0f64, |far, point| far.max(point.offset_s.abs()));
    let farthest_ms = 1000.0 * (course.offset_s.abs() + range_s).max(been_s);
    let reach = REACHES_MS
        .into_iter()
        .find(|reach| *reach >= 1.05 * farthest_ms);
    reach.unwrap_or(FARTHEST_MS).max(0.5)
}

fn grid(canvas: &Canvas, scale: &Scale) {
    for quarter in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let ms = quarter * scale.reach_ms;
        let y = scale.y(ms / 1000.0);
        let (width, color) = match quarter {
            0.0 => (1.4, canvas.palette.foreground),
            _ => (1.0, canvas.palette.grid),
        };
        let [left, right] = [scale.room.min.x, scale.room.max.x].map(|x| pos2(x, y));
        canvas.line(left, right, width, color);
        let digits = match scale.reach_ms {
            reach if reach < 0.5 => 2,
            reach if reach < 2.0 => {
                if quarter.abs() == 0.5 {
                    2
                } else {
                    1
                }
            }
            _ => 0,
        };
        canvas.tick(
            left - vec2(8.0, 0.0),
            Align2::RIGHT_CENTER,
            signed(ms, digits),
        );
    }
}

fn bar_lines(canvas: &Canvas, scale: &Scale) {
    let bar = scale.now.beats_per_bar;
    let shown = (scale.to - scale.from) / bar;
    let width = f64::from(scale.room.width()) / shown;
    // Every bar has a line; every first, second, fourth, ... a number.
    let mut named = 1;
    while width * (named as f64) < 34.0 {
        named *= 2;
    }
    let first = ((scale.from - scale.now.bar_beats) / bar).ceil();
    for number in 0..=shown.floor() as i64 {
        let beats = scale.now.bar_beats + (first + number as f64) * bar;
        if beats > scale.to {
            break;
        }
        let x = scale.x(beats);
        let line = scale.bar(beats);
        let width = if (line - 1).rem_euclid(4) == 0 {
            1.4
        } else {
            0.8
        };
        let (top, bottom) = (scale.room.min.y, scale.room.max.y);
        canvas.line(pos2(x, top), pos2(x, bottom), width, canvas.palette.grid);
        if (line - 1).rem_euclid(named) == 0 {
            canvas.tick(pos2(x, bottom + 3.0), Align2::CENTER_TOP, line);
        }
    }
}

/// What was seen of it within the drawing.
fn past(frame: &Frame, scale: &Scale) -> Vec<OffsetPoint> {
    let now = frame.decks.now().map(|deck| OffsetPoint {
        beats: deck.position.beats,
        seconds: deck.position.seconds,
        offset_s: deck.offset_s,
    });
    let seen = frame.decks.history.points().iter().copied();
    seen.chain(now)
        .filter(|point| point.beats >= scale.from)
        .collect()
}

/// What is coming, from now to the right edge; nothing where a hand decides.
fn coming(frame: &Frame, scale: &Scale) -> Vec<OffsetPoint> {
    let mut outlook = frame.decks.outlook();
    let length_s = (scale.to - scale.now.beats) * 60.0 / scale.now.tempo_bpm;
    let count = (scale.room.width() * (1.0 - PAST as f32) / STEP) as usize;
    let point = |number: usize| {
        let later_s = length_s * number as f64 / count as f64;
        let place = scale.now.after(later_s);
        Some(OffsetPoint {
            beats: place.beats,
            seconds: place.seconds,
            offset_s: outlook.offset_s(later_s)?,
        })
    };
    (0..=count).map_while(point).collect()
}

/// Where the course crosses the null line between two neighbours, quarter notes.
fn crossing(two: &[OffsetPoint]) -> Option<f64> {
    let [before, after] = [two[0].offset_s, two[1].offset_s];
    if before == 0.0 || before.signum() == after.signum() {
        return None;
    }
    let part = before / (before - after);
    Some(two[0].beats + part * (two[1].beats - two[0].beats))
}

/// Rings where the course crosses the null line, with the bar where there is room.
fn null_points(canvas: &Canvas, scale: &Scale, points: &[OffsetPoint]) {
    let mut free_from = f32::MIN;
    for beats in points.windows(2).filter_map(crossing) {
        let at = pos2(scale.x(beats), scale.y(0.0));
        canvas.ring(at, 4.0, 1.2, canvas.palette.foreground);
        let fits = at.x > free_from && at.x + NAME < scale.room.max.x;
        let clear = at.x > scale.x(scale.now.beats) || at.x + NAME < scale.x(scale.now.beats);
        if fits && clear {
            let text = format!("null point, {}", bar_words(scale, beats));
            let place = at + vec2(8.0, -10.0);
            canvas.boxed_text(
                place,
                Align2::LEFT_CENTER,
                text,
                text_font(12.0),
                canvas.palette.foreground,
            );
            free_from = at.x + NAME;
        }
    }
}

/// "bar 35", or "bar 35.2" on its second beat.
fn bar_words(scale: &Scale, beats: f64) -> String {
    let bar = scale.now.beats_per_bar;
    // A fiftieth of a beat before a line is on it.
    let bars = (beats + 0.02 - scale.now.bar_beats) / bar;
    let line = scale.bar(scale.now.bar_beats + bars.floor() * bar);
    let beat = (bars - bars.floor()) * bar;
    match beat {
        beat if beat < 0.04 => format!("bar {line}"),
        beat => format!("bar {line}.{}", beat.floor() as i64 + 1),
    }
}

fn now(canvas: &Canvas, scale: &Scale, frame: &Frame) {
    let x = scale.x(scale.now.beats);
    let (top, bottom) = (scale.room.min.y, scale.room.max.y);
    canvas.line(
        pos2(x, top),
        pos2(x, bottom),
        1.2,
        canvas.palette.foreground,
    );
    let deck = frame.decks.bearings();
    canvas.ring(
        pos2(x, scale.y(deck.offset_s)),
        5.0,
        1.5,
        canvas.palette.second,
    );
    let text = offset_words(frame);
    // On the side of the null line where the deck is not.
    let y = if deck.offset_s > 0.0 {
        bottom - 9.0
    } else {
        top + 9.0
    };
    let at = pos2(x + 8.0, y);
    canvas.boxed_text(
        at,
        Align2::LEFT_CENTER,
        text,
        text_font(12.0),
        canvas.palette.foreground,
    );
}
