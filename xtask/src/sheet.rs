//! The recall sheet: one self-contained page with the plan, the arrivals, the lag curve, the mono sum and the verdict.

mod arrivals;
pub mod decks;
mod ink;
mod lag;
mod loss;
mod plan;

use plumbline_dsp::measurement::Lag;

use crate::found::{Found, polarity_word};
use crate::hit_spectrum::{BandLoss, LagPoint};
use crate::verdict::{Scale, refused_words};
use ink::escape;
pub use ink::signed;

/// What the sheet shows.
pub struct Sheet<'a> {
    /// The take, as its owner calls it.
    pub title: &'a str,
    /// The drum before the spot.
    pub drum: &'a str,
    /// Units.
    pub scale: Scale,
    /// Seconds of the take.
    pub length_s: f64,
    /// What was found with the spot that decides.
    pub found: &'a Found,
    /// Its gap.
    pub gap: Lag,
    /// Correlation of the hits over lag.
    pub curve: &'a [LagPoint],
    /// Loss of the mono sum as recorded.
    pub before: &'a [BandLoss],
    /// The same after the correction.
    pub after: &'a [BandLoss],
    /// After minus before on the hits, dB.
    pub mono_sum_gain_db: f64,
    /// The sentences.
    pub verdict: &'a [String],
    /// Each drum's own gap.
    pub drums: Table,
    /// What else there is to show.
    pub more: More,
}

/// Tables and drawings beside the sheet's own.
#[derive(Default)]
pub struct More {
    /// At the end of the right column.
    pub tables: Vec<Table>,
    /// Inline SVG, at the end of the left column.
    pub drawings: Vec<String>,
}

/// A table of the sheet.
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Column heads.
    pub heads: Vec<String>,
    /// Cells, the first of each row a name.
    pub rows: Vec<Vec<String>>,
}

const STYLE: &str = include_str!("sheet/style.css");

impl Sheet<'_> {
    /// The page.
    pub fn html(&self) -> String {
        let strings = plan::Strings {
            first_s: self.found.spot_to_first.map(|lag| lag.attack_s),
            gap_s: self.gap.attack_s,
        };
        let more: String = self.more.tables.iter().map(Table::html).collect();
        let drawings: String = self.more.drawings.iter().map(|svg| figure(svg)).collect();
        format!(
            "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
             <title>{title} - Plumbline</title><style>{STYLE}</style></head><body>\n\
             <header><h1>Plumbline</h1><p>Recall sheet: {title}</p><p class=\"figures\">{facts}</p></header>\n\
             <main><div>{plan}{arrivals}{lag}{drums}{drawings}</div><div>{verdict}{loss}{more}</div></main>\n\
             <footer>Gap is second minus first: positive, the second hears it later. {version}</footer></body></html>\n",
            title = escape(self.title),
            facts = escape(&self.facts()),
            plan = figure(&plan::draw(&strings, self.drum, &self.scale)),
            verdict = self.verdict_panel(),
            arrivals = figure(&arrivals::draw(&self.found.log, &self.gap, self.length_s)),
            loss = figure(&loss::draw(self.before, self.after)),
            lag = figure(&lag::draw(self.curve, &self.gap)),
            drums = self.drums.html(),
            version = concat!("Plumbline ", env!("CARGO_PKG_VERSION")),
        )
    }

    fn facts(&self) -> String {
        format!(
            "{} Hz · {:.1} s · air {:.0} °C",
            self.scale.sample_rate, self.length_s, self.scale.temperature_c
        )
    }

    fn verdict_panel(&self) -> String {
        let gap_s = self.gap.attack_s;
        let sentences: String = self
            .verdict
            .iter()
            .map(|sentence| format!("<p>{}</p>", escape(sentence)))
            .collect();
        let refused = refused_words(&self.found.refused).unwrap_or_else(|| "none".to_owned());
        format!(
            "<section class=\"panel\"><h2>Gap, second after first</h2><p class=\"big\">{} cm</p>\
             <p class=\"figures\">{} ms · {} samples · {} in · ± {:.1} samples</p>{sentences}\
             <dl><dt>Hits</dt><dd>{}</dd><dt>Not used</dt><dd>{}</dd><dt>Polarity</dt><dd>{}</dd>\
             <dt>Sure</dt><dd><span class=\"sure\"><i style=\"width:{:.0}%\"></i></span> {:.2}</dd>\
             <dt>Mono sum</dt><dd>{} dB on the hits</dd></dl></section>",
            signed(self.scale.cm(gap_s), 1),
            signed(gap_s * 1e3, 3),
            signed(self.scale.samples(gap_s), 2),
            signed(self.scale.inches(gap_s), 2),
            self.scale.samples(self.gap.spread_s),
            self.found.hits,
            escape(&refused),
            polarity_word(self.gap.polarity),
            100.0 * self.gap.confidence.clamp(0.0, 1.0),
            self.gap.confidence,
            signed(self.mono_sum_gain_db, 1),
        )
    }
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

impl Table {
    fn html(&self) -> String {
        let heads: String = self
            .heads
            .iter()
            .map(|head| format!("<th>{}</th>", escape(head)))
            .collect();
        let rows: String = self
            .rows
            .iter()
            .map(|row| format!("<tr>{}</tr>", cells(row)))
            .collect();
        format!(
            "<table class=\"panel\"><caption>{}</caption><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>",
            escape(&self.caption)
        )
    }
}

fn cells(row: &[String]) -> String {
    row.iter()
        .map(|cell| format!("<td>{}</td>", escape(cell)))
        .collect()
}

fn figure(svg: &str) -> String {
    format!("<figure>{svg}</figure>")
}
