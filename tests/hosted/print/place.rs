//! Where the tape stands: nothing while off, its latency while on, and in Sweep in front of both decks.

use super::session::{LENGTH, MODES, Setting, loud_pair, open, printed};
use crate::decks::instance::{DecksInstance, DecksSession, Format, Pair};
use plumbline_dsp::print::latency;
use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};
use plumbline_hosting::{Instance, Layout, Session};

/// A machine with everything set away from its default but the noise.
const HOT: &[Setting] = &[
    ("tape_level", 12.0),
    ("tape_speed", 0.0),
    ("tape_eq", 1.0),
    ("tape_fluxivity", 250.0),
    ("tape_reference", -14.0),
];

/// The same in the core's words.
const HOT_SETTINGS: PrintSettings = PrintSettings {
    level_db: 12.0,
    speed: TapeSpeed::Cm19,
    equalisation: Equalisation::Nab,
    hiss_db: None,
    lineup: Lineup {
        fluxivity_nwb_m: 250.0,
        reference_dbfs: -14.0,
    },
};

fn at(format: Format, rate: f64) -> DecksSession {
    DecksSession {
        rate,
        ..DecksSession::of(format)
    }
}

fn run(mut instance: DecksInstance, input: &Pair) -> Pair {
    instance.run(input, || 480)
}

#[test]
fn off_is_bit_for_bit_nothing_wherever_its_controls_stand() {
    let input = loud_pair();
    for format in Format::BOTH {
        for (mode_name, mode) in MODES {
            let session = DecksSession::of(format);
            let hiss = [HOT, &[("hiss", -40.0)]].concat();
            let (mut off, mut plain) = (
                open(session, mode, 0.0, &hiss),
                DecksInstance::open(session, &[("mode", mode)]),
            );
            assert_eq!(off.latency(), plain.latency(), "{format:?}, {mode_name}");
            assert_eq!(off.tail(), plain.tail(), "{format:?}, {mode_name}");
            let same = run(off, &input) == run(plain, &input);
            assert!(same, "{format:?}, {mode_name}");
        }
    }
}

#[test]
fn its_latency_is_told_and_its_sound_is_the_cores_in_every_mode() {
    let input = loud_pair();
    for format in Format::BOTH {
        for rate in [44_100.0, 48_000.0, 96_000.0] {
            let session = at(format, rate);
            for (mode_name, mode) in MODES {
                let case = format!("{format:?}, {rate} Hz, {mode_name}");
                // In Sweep the fixed deck alone.
                let settings = [HOT, &[("engage", 0.0)]].concat();
                let mut on = open(session, mode, 1.0, &settings);
                let without = open(session, mode, 0.0, &settings).latency();
                assert_eq!(on.latency(), without + latency(rate), "{case}");
                let align = open(session, 0.0, 0.0, &[]).latency();
                let core = printed(session, &input, align, &HOT_SETTINGS);
                let behind = without - align;
                let out = run(on, &input);
                for (out, core) in out.iter().zip(&core) {
                    assert!(out[behind..] == core[..LENGTH - behind], "{case}");
                    assert!(out[..behind].iter().all(|x| *x == 0.0), "{case}");
                }
            }
        }
    }
}

#[test]
fn at_the_null_point_both_decks_are_the_print_and_the_flipped_one_is_silent() {
    let input = loud_pair();
    for format in Format::BOTH {
        for rate in [44_100.0, 48_000.0, 96_000.0, 192_000.0] {
            let session = at(format, rate);
            let case = format!("{format:?}, {rate} Hz");
            let settings = |more: &[Setting]| [HOT, &[("hiss", -50.0)], more].concat();
            let play = |mode, more: &[Setting]| {
                let mut instance = open(session, mode, 1.0, &settings(more));
                (instance.latency(), run(instance, &input))
            };
            let (print_latency, print) = play(0.0, &[]);
            for blend in [0.0, 50.0, 100.0] {
                let (decks_latency, decks) = play(1.0, &[("blend", blend)]);
                let behind = decks_latency - print_latency;
                for (decks, print) in decks.iter().zip(&print) {
                    let same = decks[behind..] == print[..LENGTH - behind];
                    assert!(same, "{case}, blend {blend} %");
                }
            }
            let (_, flipped) = play(1.0, &[("flip", 1.0)]);
            assert!(flipped.iter().flatten().all(|x| *x == 0.0), "{case}");
        }
    }
}

#[test]
fn apart_each_deck_plays_the_print_and_their_sum_is_not_printed_again() {
    let input = loud_pair();
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        let mut print = open(session, 0.0, 1.0, HOT);
        let before_decks = print.latency();
        let print = run(print, &input);
        // 2 ms are 96 samples: both decks are read at whole samples.
        let mut decks = open(session, 1.0, 1.0, &[HOT, &[("offset", 2.0)]].concat());
        let behind = decks.latency() - before_decks;
        let decks = run(decks, &input);
        for (decks, print) in decks.iter().zip(&print) {
            let sum = |n: usize| 0.5 * (print[n - behind] + print[n - behind - 96]);
            let errors = (4_800..LENGTH).map(|n| (decks[n] - sum(n)).abs());
            let worst = errors.fold(0.0, f32::max);
            println!("{format:?}: {worst:e} from the sum of two prints");
            assert!(worst < 1e-5, "{format:?}: {worst}");
        }
    }
}

/// A CLAP instance of a layout with the hot print on.
fn clap_of(layout: Layout, more: &[Setting]) -> Instance {
    let mut instance = crate::library::open(Session {
        layout,
        ..Session::default()
    });
    for (id, value) in [HOT, &[("print", 1.0)], more].concat() {
        instance.set(id, value).unwrap();
    }
    instance.restart().unwrap();
    instance
}

#[test]
fn every_layout_is_printed_channel_by_channel() {
    let session = DecksSession::of(Format::Clap);
    let late = open(session, 0.0, 0.0, &[]).latency();
    let input = loud_pair();
    let core = printed(session, &input, late, &HOT_SETTINGS);
    for layout in Layout::ALL {
        let (mains, spots) = layout.channels();
        let mut main = input[..mains].to_vec();
        let spot = vec![vec![0.0; LENGTH]; spots];
        crate::library::run(&mut clap_of(layout, &[]), &mut main, &spot, || 480);
        assert!(main == core[..mains], "{layout:?}");
    }
}

#[test]
fn the_spot_is_on_the_tape_with_the_pair() {
    let session = DecksSession::of(Format::Clap);
    let mut instance = clap_of(Session::default().layout, &[("spot_level", 0.0)]);
    let [spot, _] = loud_pair();
    let mut main = vec![vec![0.0; LENGTH]; 2];
    let spots = vec![spot.clone(); 2];
    crate::library::run(&mut instance, &mut main, &spots, || 480);
    let late = open(session, 0.0, 0.0, &[]).latency();
    let core = printed(session, &[spot.clone(), spot], late, &HOT_SETTINGS);
    assert!(main == core);
}

#[test]
fn whatever_goes_in_at_any_rate_what_comes_out_is_finite_and_no_subnormal() {
    let mut input = loud_pair();
    for (n, bad) in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY, f32::MAX, 1e-40]
        .into_iter()
        .enumerate()
    {
        input[n % 2][1_000 + 500 * n..1_020 + 500 * n].fill(bad);
    }
    input[0][6_000..7_000].fill(1.0);
    input[1][8_000..20_000].fill(0.0);
    let rates = [100.0, 8_000.0, 44_100.0, 88_200.0, 384_000.0, 1_536_000.0];
    for format in Format::BOTH {
        for rate in rates {
            for hiss in [-80.5, -40.0] {
                let settings = [HOT, &[("hiss", hiss)]].concat();
                let out = run(open(at(format, rate), 1.0, 1.0, &settings), &input);
                let fine = |x: &f32| *x == 0.0 || x.is_normal();
                let fine = out.iter().flatten().all(fine);
                assert!(fine, "{format:?}, {rate} Hz, noise {hiss} dB");
            }
        }
    }
}
