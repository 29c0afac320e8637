//! The recall sheet as a page on its own: settings with the tape's, applied delays, target, kit map, drawings and the engineer's lines.

use super::date::date;
use super::drawings::{lag_curve, mono_sum};
use crate::editor::drawing::{plain, signed};
use crate::editor::frame::{Channels, Control, Frame, KitRow};
use crate::editor::wording::{certainty, distance, length, names, polarity_word, verdict};
use crate::session::Line;
use plumbline_dsp::drum_names::Reason;
use std::time::SystemTime;

/// The same paper and ink as the window's light sheet.
const STYLE: &str = "body{background:#f5f2ea;color:#22303c;font:14px/1.45 sans-serif;margin:24px;max-width:1080px}\
h1{font-size:22px;margin:0}p.date{color:#5a6873;margin:0 0 16px}table{border-collapse:collapse;background:#fbf9f4;margin:0 0 \
16px}td,th{border:1px solid #b9b3a4;padding:3px 9px;text-align:left}td.n{font-family:monospace}figure{background:#fbf9f4;\
border:1px solid #b9b3a4;margin:0 0 16px;padding:8px;max-width:540px}figcaption{color:#5a6873;font-size:12px}svg{width:100%}\
polyline,line{fill:none}.ink{stroke:#22303c;stroke-width:1.6}.thin{stroke:#5a6873}.accent{stroke:#b8452c;stroke-width:1.6}\
.hollow{fill:none;stroke:#b8452c}.full{fill:#2a6f7f}text{font:11px monospace;fill:#5a6873}";

/// The page, as things stand at a moment.
pub fn recall_sheet(frame: &Frame, words: &dyn Fn(Control) -> String, at: SystemTime) -> String {
    let drawings = match &frame.comparison {
        Some(comparison) => lag_curve(frame, comparison) + &mono_sum(comparison),
        None => String::new(),
    };
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Recall sheet - Plumbline</title>\
         <style>{STYLE}</style></head><body><h1>Recall sheet</h1><p class=\"date\">{date}</p><p>{verdict}</p>{settings}\
         {kit}{drawings}{notes}</body></html>\n",
        date = date(at),
        verdict = escape(&verdict(frame)),
        settings = table("Settings", &[], &settings(frame, words)),
        kit = kit(frame),
        notes = table("Notes", &[], &notes(frame)),
    )
}

/// The controls that decide the correction, and what the sheet calls them.
const CONTROLS: [(&str, Control); 11] = [
    ("Correct", Control::Correct),
    ("Anchor", Control::Anchor),
    ("Match", Control::Match),
    ("Amount", Control::Amount),
    ("Polarity", Control::Polarity),
    ("Nudge first", Control::NudgeFirst),
    ("Nudge second", Control::NudgeSecond),
    ("Drum", Control::Drum),
    ("Spot in print", Control::SpotLevel),
    ("Reach", Control::Reach),
    ("Air temperature", Control::Temperature),
];

/// The tape machine's, while Print is on.
const TAPE: [(&str, Control); 7] = [
    ("Print", Control::Print),
    ("Level to tape", Control::TapeLevel),
    ("Tape speed", Control::TapeSpeed),
    ("Equalisation", Control::TapeEqualisation),
    ("Tape noise", Control::TapeNoise),
    ("Reference fluxivity", Control::Fluxivity),
    ("Reference level", Control::ReferenceLevel),
];

fn row(name: &str, value: String) -> Vec<String> {
    vec![name.to_owned(), value]
}

fn settings(frame: &Frame, words: &dyn Fn(Control) -> String) -> Vec<Vec<String>> {
    let tape: &[(&str, Control)] = match frame.knobs.is_on(Control::Print) {
        true => &TAPE,
        false => &TAPE[..1],
    };
    let controls = CONTROLS.iter().chain(tape);
    let controls = controls.map(|(name, control)| row(name, words(*control)));
    let aligned = frame.lag().map(|_| {
        let reason = Reason(frame.measurement());
        row(
            "Aligned on",
            reason.sentence_with(&|drum| frame.drum_name(drum)),
        )
    });
    let target = row("Target", target(frame));
    let delays = delays(frame).into_iter().chain(controls);
    delays.chain(aligned).chain([target]).collect()
}

/// What is applied to each channel.
fn delays(frame: &Frame) -> Vec<Vec<String>> {
    let samples = |seconds: f64| {
        let ms = signed(seconds * 1000.0, 3);
        let samples = signed(frame.air().samples(seconds), 2);
        format!("{samples} samples, {ms} ms")
    };
    let names = names(frame);
    let turned = if frame.plan.flip {
        ", polarity reversed"
    } else {
        ""
    };
    let first = samples(frame.plan.first_s);
    match frame.activation.channels {
        Channels::Pair => vec![
            row(&format!("{} delayed by", names.early), first),
            row(
                &format!("{} delayed by", names.late),
                samples(frame.plan.second_s) + turned,
            ),
        ],
        Channels::Mono => vec![row("Channel delayed by", first + turned)],
    }
}

fn target(frame: &Frame) -> String {
    let drums = frame.rows().filter_map(|drum| {
        let target_s = frame.notes.target_s(drum)?;
        let length = length(&frame.air(), target_s);
        Some(format!("{} {length}", frame.drum_name(drum)))
    });
    let drums: Vec<String> = drums.collect();
    match drums.is_empty() {
        true => "zero: the overheads stand together".to_owned(),
        false => drums.join(", "),
    }
}

fn kit(frame: &Frame) -> String {
    let heads = [
        "Drum",
        "hits",
        "gap",
        "spread",
        "sure",
        "polarity",
        "left",
        "mono sum, dB",
    ];
    let rows: Vec<Vec<String>> = frame
        .kit_rows()
        .iter()
        .map(|row| kit_row(frame, row))
        .collect();
    match rows.is_empty() {
        true => String::new(),
        false => table("Kit", &heads, &rows),
    }
}

fn kit_row(frame: &Frame, row: &KitRow) -> Vec<String> {
    let air = frame.air();
    let mark = if row.is_chosen { " (aligned)" } else { "" };
    let lag = row.lag.as_ref();
    let cell = |text: Option<String>| text.unwrap_or_else(|| "not known".to_owned());
    vec![
        format!("{}{mark}", row.name),
        row.hits.to_string(),
        cell(lag.map(|lag| length(&air, lag.attack_s))),
        cell(lag.map(|lag| format!("± {}", distance(&air, lag.spread_s)))),
        cell(lag.map(|lag| {
            let percent = plain(100.0 * lag.confidence, 0);
            format!("{percent} %, {}", certainty(lag.confidence))
        })),
        cell(lag.map(|lag| polarity_word(lag.polarity).to_owned())),
        cell(row.left_s.map(|left_s| length(&air, left_s))),
        cell(
            row.loss
                .map(|loss| format!("{} → {}", plain(loss.before_db, 1), plain(loss.after_db, 1))),
        ),
    ]
}

/// The engineer's lines; an empty one is left free for a pencil.
fn notes(frame: &Frame) -> Vec<Vec<String>> {
    let lines = [
        ("Microphones", Line::Microphones),
        ("Heights", Line::Heights),
        ("Remarks", Line::Remarks),
    ];
    let rows = lines.map(|(name, line)| vec![name.to_owned(), frame.notes.line(line).to_owned()]);
    rows.to_vec()
}

fn table(caption: &str, heads: &[&str], rows: &[Vec<String>]) -> String {
    let heads: String = heads
        .iter()
        .map(|head| format!("<th>{}</th>", escape(head)))
        .collect();
    let row = |cells: &Vec<String>| {
        let cells = cells.iter().enumerate().map(|(place, cell)| {
            let class = if place > 0 { " class=\"n\"" } else { "" };
            format!("<td{class}>{}</td>", escape(cell))
        });
        format!("<tr>{}</tr>", cells.collect::<String>())
    };
    let rows: String = rows.iter().map(row).collect();
    format!("<h2>{caption}</h2><table><tr>{heads}</tr>{rows}</table>")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
