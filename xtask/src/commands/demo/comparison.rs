//! What the plugin measured on the demo's session beside the truth.

use plumbline_dsp::measurement::{DrumKind, Lag, Polarity};

use crate::alignment::{AlignedTake, polarity_name};
use crate::sheet::{Table, signed};
use crate::simulation::barn::Truth;

/// Found, how sure, true and the difference, in samples; then the polarity.
pub fn table(take: &AlignedTake, truth: &Truth) -> Table {
    let measurement = take.measurement();
    let of_kind = |kind| measurement.drums.iter().find(|drum| drum.kind == kind);
    let (snare, kick) = (of_kind(DrumKind::Snare), of_kind(DrumKind::Kick));
    let row = |name: &str, lag: Option<Lag>, true_s: f64| {
        let is = take.units.samples(true_s);
        let was = lag.map(|lag| take.units.samples(lag.attack_s));
        let spread = lag.map(|lag| format!("± {:.2}", take.units.samples(lag.spread_s)));
        let shown = |value: Option<f64>| value.map_or("-".to_owned(), |value| signed(value, 2));
        let error = was.map(|was| was - is);
        vec![
            name.to_owned(),
            shown(was),
            spread.unwrap_or_default(),
            shown(Some(is)),
            shown(error),
        ]
    };
    let polarity = measurement
        .gap
        .map_or("-", |gap| polarity_name(gap.polarity));
    let is = polarity_name(Polarity::Inverted);
    let right = if polarity == is { "right" } else { "wrong" };
    let rows = vec![
        row(
            "snare: second after first",
            snare.and_then(|drum| drum.gap),
            truth.gap_s,
        ),
        row(
            "kick: second after first",
            kick.and_then(|drum| drum.gap),
            truth.kick_gap_s,
        ),
        row(
            "kick to first",
            kick.and_then(|drum| drum.spot_to_first),
            truth.kick_to_first_s,
        ),
        row(
            "kick to second",
            kick.and_then(|drum| drum.spot_to_second),
            truth.kick_to_second_s,
        ),
        ["polarity of the second", polarity, "", is, right]
            .map(str::to_owned)
            .to_vec(),
    ];
    let heads = ["samples at 48 kHz", "found", "", "true", "error"]
        .map(str::to_owned)
        .to_vec();
    Table {
        caption: "Found, and what the tape measure says".to_owned(),
        heads,
        rows,
    }
}

/// The table in fixed columns for the terminal.
pub fn as_text(table: &Table) -> String {
    let line = |row: &Vec<String>| {
        let [name, found, spread, is, error] = row.as_slice() else {
            return String::new();
        };
        format!("{name:26}{found:>10}{spread:>9}{is:>10}{error:>10}\n")
    };
    std::iter::once(&table.heads)
        .chain(&table.rows)
        .map(line)
        .collect()
}
