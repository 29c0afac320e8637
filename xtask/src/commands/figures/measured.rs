//! The figures: which table each is drawn from, over which axes, and what is shown as a line or as dots.

use super::numbers::Numbers;
use crate::sheet::{Axis, Mark, Ruling, Series};

/// One figure of the documentation.
pub struct Figure {
    /// File name without its ending.
    pub name: &'static str,
    pub title: &'static str,
    /// Names of the tables in `target/measured`.
    pub tables: &'static [&'static str],
    /// The test that writes them.
    pub test: &'static str,
    pub across: Axis<'static>,
    pub up: Axis<'static>,
    /// From the tables, in their order.
    pub series: fn(&[Numbers]) -> Vec<Series>,
}

/// The audible band.
const FREQUENCY: Axis<'static> = Axis {
    name: "Hz",
    from: 20.0,
    to: 20_000.0,
    ruling: Ruling::Logarithmic,
};

/// Every figure, in the order of the pages.
pub const FIGURES: &[Figure] = &[
    Figure {
        name: "reader-error",
        title: "Reading between samples at 44.1 kHz: what is not the ideal delay",
        tables: &["fixed_reader", "moving_reader"],
        test: "delay",
        across: FREQUENCY,
        up: decibels(-150.0, -90.0),
        series: reader_error,
    },
    Figure {
        name: "decks-comb",
        title: "Both decks, moving deck 1 ms late: the sum",
        tables: &["sweep_comb"],
        test: "sweep",
        across: Axis {
            name: "Hz",
            from: 0.0,
            to: 5_000.0,
            ruling: Ruling::Linear,
        },
        up: decibels(-30.0, 6.0),
        series: decks_comb,
    },
    Figure {
        name: "third-octaves",
        title: "Mono sum of a pair ten samples apart at 48 kHz: tones in their third octaves",
        tables: &["third_octaves"],
        test: "levels",
        across: FREQUENCY,
        up: decibels(-25.0, 0.0),
        series: third_octaves,
    },
    Figure {
        name: "print-third-harmonic",
        title: "The print: third harmonic of 1 kHz over the level to tape",
        tables: &["print_third_harmonic"],
        test: "print_harmonics",
        across: Axis {
            name: "dB over the reference",
            from: -20.0,
            to: 12.0,
            ruling: Ruling::Linear,
        },
        up: Axis {
            name: "%",
            from: 0.002,
            to: 20.0,
            ruling: Ruling::Logarithmic,
        },
        series: third_harmonic,
    },
    Figure {
        name: "grooves",
        title: "The snare's gap in ten grooves of real strokes, snare's microphone as spot",
        tables: &["grooves"],
        test: "grooves",
        across: Axis {
            name: "groove",
            from: 0.0,
            to: 11.0,
            ruling: Ruling::Linear,
        },
        up: Axis {
            name: "samples",
            from: -4.0,
            to: 4.0,
            ruling: Ruling::Linear,
        },
        series: grooves,
    },
    Figure {
        name: "reliability",
        title: "A thousand sessions kept aside: what came true of what was claimed",
        tables: &["calibration_reliability"],
        test: "-- --ignored a_thousand_sessions",
        across: probability("claimed"),
        up: probability("came true"),
        series: reliability,
    },
];

const fn probability(name: &'static str) -> Axis<'static> {
    Axis {
        name,
        from: 0.0,
        to: 1.0,
        ruling: Ruling::Linear,
    }
}

const fn decibels(from: f64, to: f64) -> Axis<'static> {
    Axis {
        name: "dB",
        from,
        to,
        ruling: Ruling::Linear,
    }
}

fn series(name: &str, mark: Mark, points: Vec<(f64, f64)>) -> Series {
    Series {
        name: name.to_owned(),
        mark,
        points,
    }
}

fn reader_error(tables: &[Numbers]) -> Vec<Series> {
    let worst = |table: &Numbers| {
        table
            .only(&[("sample_rate", "44100")])
            .worst("hz", "error_db")
    };
    let limit = vec![(FREQUENCY.from, -110.0), (FREQUENCY.to, -110.0)];
    vec![
        series("fixed reader", Mark::Line, worst(&tables[0])),
        series("moving reader", Mark::Accent, worst(&tables[1])),
        series("wanted", Mark::Dashed, limit),
    ]
}

fn decks_comb(tables: &[Numbers]) -> Vec<Series> {
    let one = tables[0].only(&[("offset_ms", "1")]);
    // One in so many points is enough to see that dots and line are one.
    let below = |points: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
        let shown = points.into_iter().filter(|(hz, _)| *hz <= 5_000.0);
        shown.step_by(6).collect()
    };
    vec![
        series(
            "closed form",
            Mark::Dashed,
            below(one.points("hz", "closed_form_db")),
        ),
        series(
            "the two decks",
            Mark::Dots,
            below(one.points("hz", "late_db")),
        ),
    ]
}

fn third_octaves(tables: &[Numbers]) -> Vec<Series> {
    vec![
        series(
            "closed form",
            Mark::Dashed,
            tables[0].points("hz", "closed_form_db"),
        ),
        series(
            "measured",
            Mark::Dots,
            tables[0].points("hz", "measured_db"),
        ),
    ]
}

fn third_harmonic(tables: &[Numbers]) -> Vec<Series> {
    let over = |column: &str| tables[0].points("level_db", column);
    vec![
        series("Langevin", Mark::Dashed, over("langevin_percent")),
        series("the print", Mark::Dots, over("third_percent")),
    ]
}

fn grooves(tables: &[Numbers]) -> Vec<Series> {
    let pair = |spot: &str, column: &str| tables[0].only(&[("spot", spot)]).points("seed", column);
    vec![
        series("near pair (upper)", Mark::Dots, pair("0", "gap")),
        series("its table", Mark::Dashed, pair("0", "true_gap")),
        series("far pair (lower)", Mark::Dots, pair("1", "gap")),
        series("its table", Mark::Dashed, pair("1", "true_gap")),
    ]
}

fn reliability(tables: &[Numbers]) -> Vec<Series> {
    let all = tables[0].only(&[("kind", "all")]);
    let sessions = all.points("claimed", "sessions");
    let tenths = all.points("claimed", "came_true").into_iter().zip(sessions);
    let filled = tenths.filter(|(_, (_, sessions))| *sessions > 0.0);
    let points = filled.map(|(point, _)| point).collect();
    vec![
        series("honest", Mark::Dashed, vec![(0.0, 0.0), (1.0, 1.0)]),
        series("all sessions", Mark::Line, points),
    ]
}
