//! The recall sheet as HTML: one self-contained page with the plan, the arrivals, the lag curve, the mono sum and the verdict.

use plumbline_dsp::measurement::Lag;

use super::drawing::{STYLE, escape, signed};
use super::player::player;
use super::table::{Extras, Table};
use super::{arrivals, lag, loss, plan};
use crate::alignment::{BandLoss, LagPoint, SpotMeasurement, Units, polarity_name, refused_counts};

/// What the sheet shows.
pub struct Sheet<'a> {
    /// The take, as its owner calls it.
    pub title: &'a str,
    /// The drum before the spot.
    pub drum: &'a str,
    /// The take's rate and air.
    pub units: Units,
    /// Seconds of the take.
    pub length_s: f64,
    /// The measurement with the spot that decides.
    pub measurement: &'a SpotMeasurement,
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
    pub extras: Extras,
}

impl Sheet<'_> {
    /// From the drum that is aligned to the first overhead, seconds, where the spot stands at that drum: what another one's
    /// microphone hears is no way from it, and of one drum alone nobody knows where the spot stands.
    fn way_to_first_s(&self) -> Option<f64> {
        let measurement = self.measurement;
        let is_there = measurement.drums.len() > 1 && measurement.spots_own == measurement.chosen;
        let lag = measurement.spot_to_first.filter(|_| is_there)?;
        Some(lag.attack_s)
    }

    /// The page.
    pub fn html(&self) -> String {
        let strings = plan::Strings {
            first_s: self.way_to_first_s(),
            gap_s: self.gap.attack_s,
        };
        let tables: String = self.extras.tables.iter().map(Table::html).collect();
        let drawings: String = self.extras.drawings.iter().map(|svg| figure(svg)).collect();
        format!(
            "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
             <title>{title} - Plumbline</title><style>{STYLE}</style></head><body>\n\
             <header><h1>Plumbline</h1><p>Recall sheet: {title}</p><p class=\"figures\">{facts}</p></header>\n\
             {sounds}<main><div>{plan}{arrivals}{lag}{drums}{drawings}</div><div>{verdict}{loss}{tables}</div></main>\n\
             <footer>Gap is second minus first: positive, the second hears it later. {version}</footer></body></html>\n",
            sounds = self.sounds(),
            title = escape(self.title),
            facts = escape(&self.facts()),
            plan = figure(&plan::draw(&strings, self.drum, &self.units)),
            verdict = self.verdict_panel(),
            arrivals = figure(&arrivals::draw(
                &self.measurement.log,
                self.measurement.chosen().map(|drum| drum.number),
                &self.gap,
                self.length_s
            )),
            loss = figure(&loss::draw(self.before, self.after)),
            lag = figure(&lag::draw(self.curve, &self.gap)),
            drums = self.drums.html(),
            version = concat!("Plumbline ", env!("CARGO_PKG_VERSION")),
        )
    }

    fn sounds(&self) -> String {
        let cards: String = self
            .extras
            .sounds
            .iter()
            .map(|(title, flac)| {
                let name = escape(title);
                format!(
                    "<section class=\"panel\"><h2>{name}</h2>{}</section>",
                    player(title, flac)
                )
            })
            .collect();
        match cards.is_empty() {
            true => cards,
            false => format!("<div class=\"sounds\">{cards}</div>"),
        }
    }

    fn facts(&self) -> String {
        format!(
            "{} Hz · {:.1} s · air {:.0} °C",
            self.units.sample_rate, self.length_s, self.units.temperature_c
        )
    }

    fn verdict_panel(&self) -> String {
        let gap_s = self.gap.attack_s;
        let sentences: String = self
            .verdict
            .iter()
            .map(|sentence| format!("<p>{}</p>", escape(sentence)))
            .collect();
        let refused =
            refused_counts(&self.measurement.refused).unwrap_or_else(|| "none".to_owned());
        format!(
            "<section class=\"panel\"><h2>Gap, second after first</h2><p class=\"big\">{} cm</p>\
             <p class=\"figures\">{} ms · {} samples · {} in · ± {:.1} samples</p>{sentences}\
             <dl><dt>Hits</dt><dd>{}</dd><dt>Not used</dt><dd>{}</dd><dt>Polarity</dt><dd>{}</dd>\
             <dt>Sure</dt><dd><span class=\"sure\"><i style=\"width:{:.0}%\"></i></span> {:.2}</dd>\
             <dt>Mono sum</dt><dd>{} dB on the hits</dd></dl></section>",
            signed(self.units.cm(gap_s), 1),
            signed(gap_s * 1e3, 3),
            signed(self.units.samples(gap_s), 2),
            signed(self.units.inches(gap_s), 2),
            self.units.samples(self.gap.spread_s),
            self.measurement.hits,
            escape(&refused),
            polarity_name(self.gap.polarity),
            100.0 * self.gap.confidence.clamp(0.0, 1.0),
            self.gap.confidence,
            signed(self.mono_sum_gain_db, 1),
        )
    }
}

fn figure(svg: &str) -> String {
    format!("<figure>{svg}</figure>")
}
