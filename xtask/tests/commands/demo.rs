//! The demo's session: what the plugin finds is what the tape measure says.

use plumbline_dsp::measurement::Polarity;
use plumbline_dsp::plan::{Anchor, Match};
use xtask::alignment::{AskedDrum, Settings, TimeRange, measure};
use xtask::audio::{Overheads, TakeFiles};
use xtask::simulation::barn::{SAMPLE_RATE, TEMPERATURE_C, record, truth};

use crate::align::load_plugin;
use crate::files::Folder;

#[test]
fn finds_the_far_overhead_and_the_reversed_cable() {
    let folder = Folder::new();
    let session = record();
    let [first, second] = &session.overheads;
    let files = TakeFiles {
        overheads: Overheads::Together(folder.wav("overheads.wav", SAMPLE_RATE, &[first, second])),
        spots: vec![folder.wav("snare.wav", SAMPLE_RATE, &[&session.snare])],
    };
    let settings = Settings {
        anchor: Anchor::Later,
        target: Match::Attack,
        drum: AskedDrum::Auto,
        amount: 100.0,
        temperature_c: TEMPERATURE_C,
        reach_ms: None,
        spot_in_print_db: None,
        tape: None,
    };
    let measured = measure(&load_plugin(), &files, TimeRange::ALL, &settings)
        .unwrap_or_else(|error| panic!("{error}"));
    let snare = &measured.spots[0];
    let gap = snare.gap.expect("a gap");
    let error = (gap.attack_s - truth().gap_s) * f64::from(SAMPLE_RATE);
    println!("gap error {error:+.3} samples from {} hits", snare.hits);
    assert!(error.abs() <= 0.3, "gap error {error:+.3} samples");
    assert_eq!(gap.polarity, Polarity::Inverted);
}
