//! What is written: as long as the file, in time with it, and what two decks at a known offset make.

use super::{Audio, noise, nulls, swept};
use crate::command::number;
use crate::files::{Folder, RATE};
use crate::tape::printed;
use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};

/// Largest difference of two prints from a sample on.
fn difference(a: &Audio, b: &Audio, from: usize) -> f32 {
    assert_eq!(a[0].len(), b[0].len());
    let channels = a.iter().zip(b);
    let samples = channels.flat_map(|(a, b)| a[from..].iter().zip(&b[from..]));
    samples.fold(0.0, |most, (a, b)| most.max((a - b).abs()))
}

#[test]
fn decks_together_print_the_file_bit_for_bit_and_one_reversed_they_are_silent() {
    let folder = Folder::new();
    for (rate, channels) in [(8_000, 1), (44_100, 2), (RATE, 1), (192_000, 2)] {
        let input = noise(channels, rate as usize / 2);
        let file = folder.wav("in.wav", rate, &input);
        let (_, print) = swept(&folder, &file, "--motion hand --offset 0");
        assert!(print == input, "{rate} Hz, {channels} channels");
        let (_, print) = swept(&folder, &file, "--motion hand --offset 0 --flip");
        assert!(print.iter().flatten().all(|sample| *sample == 0.0));
    }
}

#[test]
fn with_print_the_decks_together_are_the_file_on_tape_and_one_reversed_they_are_silent() {
    let folder = Folder::new();
    let tape = PrintSettings {
        level_db: 6.0,
        speed: TapeSpeed::Cm19,
        equalisation: Equalisation::Nab,
        lineup: Lineup {
            fluxivity_nwb_m: 250.0,
            reference_dbfs: -14.0,
        },
        ..PrintSettings::default()
    };
    let asked = "--motion hand --offset 0 --print --level-to-tape 6 --tape-speed 19 --tape-eq nab --fluxivity 250 \
                 --reference-level -14";
    for (rate, channels) in [(44_100, 2), (RATE, 1)] {
        let input = noise(channels, rate as usize / 2);
        let file = folder.wav("in.wav", rate, &input);
        let (answer, print) = swept(&folder, &file, asked);
        assert!(
            print == printed(&input, rate, &tape),
            "{rate} Hz, {channels} channels"
        );
        assert_eq!(answer["tape"]["tape_speed_cm_s"], 19);
        assert_eq!(answer["tape"]["equalisation"], "NAB");
        let three = number(&answer["tape"], "three_per_cent_dbfs");
        // Some 10.5 dB over 320 nWb/m, 2.1 dB more over 250, and 6 dB less for the level.
        assert!((three - (-14.0 + 10.5 + 2.1 - 6.0)).abs() < 0.5, "{three}");
        let (_, print) = swept(&folder, &file, &format!("{asked} --flip"));
        assert!(print.iter().flatten().all(|sample| *sample == 0.0));
    }
}

#[test]
fn the_tape_moves_no_null_point() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, 4 * RATE as usize));
    let asked = "--motion pass --length 2bars --tempo 240 --start-at 2";
    let (plain, _) = swept(&folder, &file, asked);
    let (taped, _) = swept(
        &folder,
        &file,
        &format!("{asked} --print --level-to-tape 12"),
    );
    assert_eq!(plain["null_points"], taped["null_points"]);
    assert!(!nulls(&plain).is_empty());
    assert_eq!(plain["tape"], serde_json::Value::Null);
}

#[test]
fn two_milliseconds_are_ninety_six_samples_for_the_first_channel_and_width_turns_the_second() {
    let folder = Folder::new();
    let input = noise(2, RATE as usize);
    let file = folder.wav("in.wav", RATE, &input);
    let (answer, print) = swept(&folder, &file, "--motion hand --offset 2 --width -100");
    assert!((number(&answer, "greatest_offset_ms") - 2.0).abs() < 1e-4);
    let half = |channel: &[f32], n: usize, other: usize| 0.5 * (channel[n] + channel[other]);
    for n in 1_000..RATE as usize - 1_000 {
        let wanted = [half(&input[0], n, n - 96), half(&input[1], n, n + 96)];
        for (print, wanted) in print.iter().zip(wanted) {
            assert!((print[n] - wanted).abs() < 1e-5, "sample {n}");
        }
    }
}

#[test]
fn outside_the_engaged_bars_the_file_stays_as_it_is() {
    let folder = Folder::new();
    let input = noise(2, 4 * RATE as usize);
    let file = folder.wav("in.wav", RATE, &input);
    // A bar a second: engaged through bars 2 and 3.
    let asked = "--motion hand --offset 1.3 --tempo 240 --from 2 --to 4";
    let (_, print) = swept(&folder, &file, asked);
    let second = RATE as usize;
    assert!(print[0][..second] == input[0][..second]);
    assert!((print[0][2 * second] - input[0][2 * second]).abs() > 1e-4);
    assert_eq!(difference(&print, &input, 3 * second + second / 10), 0.0);
}

#[test]
fn the_moving_deck_may_run_out() {
    let folder = Folder::new();
    let input = noise(1, 10_000);
    let file = folder.wav("in.wav", RATE, &input);
    let asked = "--motion hand --offset 5 --blend 100";
    let (_, cut) = swept(&folder, &file, asked);
    assert_eq!(cut[0].len(), 10_000);
    let (_, whole) = swept(&folder, &file, &format!("{asked} --tail"));
    assert!(whole[0].len() > 10_240, "{}", whole[0].len());
    // 5 ms are 240 samples: the file's end comes out whole.
    let late = &whole[0][240..10_240];
    assert!(
        late.iter()
            .zip(&input[0])
            .all(|(a, b)| (a - b).abs() < 1e-5)
    );
    assert_eq!(difference(&vec![whole[0][..10_000].to_vec()], &cut, 0), 0.0);
}

#[test]
fn two_bounces_are_one() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, RATE as usize));
    let asked = "--motion cycle --rate 1.7 --wow 0.2 --flutter 0.1";
    let (first, second) = (swept(&folder, &file, asked), swept(&folder, &file, asked));
    assert!(first == second);
}
