//! Two decks that stand still: the null point, the comb on both sides of it, the residue of a flipped deck.

use std::f64::consts::TAU;

use plumbline_dsp::decks::mix::MixSettings;

use super::{RATE, Rig, flipped, still};
use crate::noise::Noise;
use crate::support::{assert_near, db, magnitudes, write_csv};

#[test]
fn at_the_null_point_the_output_is_the_input_and_flipped_it_is_silent() {
    for rate in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0, 768_000.0] {
        let input = Noise::new(11).samples(20_000 + (rate * 0.02) as usize);
        for blend in [0.0, 0.3, 0.5, 1.0] {
            let mix = MixSettings {
                blend,
                ..MixSettings::default()
            };
            let mut rig = Rig::new(rate, 0);
            let mut audio = input.clone();
            rig.run(&mut audio, |_| still(0.0), &mix);
            let latency = rig.sweep.latency();
            let exact = audio[latency..] == input[..input.len() - latency];
            assert!(exact, "{rate} Hz, blend {blend}");
        }
        let mut audio = input.clone();
        Rig::new(rate, 0).run(&mut audio, |_| still(0.0), &flipped());
        assert!(audio.iter().all(|y| *y == 0.0), "{rate} Hz, flipped");
    }
}

/// Spectrum of the response to an impulse, lines `rate / size` apart; of one deck each the gain is one half.
fn response(offset_s: f64, mix: &MixSettings, size: usize) -> Vec<f64> {
    let mut rig = Rig::new(RATE, 0);
    let mut settle = vec![0.0; 4096];
    rig.run(&mut settle, |_| still(offset_s), mix);
    let mut audio = vec![0.0; size];
    audio[0] = 1.0;
    rig.run(&mut audio, |_| still(offset_s), mix);
    magnitudes(audio.into_iter().map(f64::from).collect())
}

/// 2 cos πfd, nulls at (2k + 1) / 2d: F. A. Everest, K. C. Pohlmann, Master Handbook of Acoustics, ch. 10.
#[test]
fn the_comb_is_the_closed_form_on_both_sides_of_the_null_point() {
    let size = 1 << 17;
    let line_hz = RATE / size as f64;
    let mut rows = Vec::new();
    for ms in [0.05, 0.5, 1.0, 5.0, 12.0] {
        let mix = MixSettings::default();
        let late = response(ms / 1000.0, &mix, size);
        let early = response(-ms / 1000.0, &mix, size);
        for (index, (late, early)) in late.iter().zip(&early).enumerate() {
            let hz = index as f64 * line_hz;
            if !(10.0..=20_000.0).contains(&hz) {
                continue;
            }
            let want = (TAU / 2.0 * hz * ms / 1000.0).cos().abs();
            let case = format!("{ms} ms, {hz:.1} Hz");
            assert_near(&case, *late, want, 2e-6);
            assert_near(
                &format!("{case}, both sides"),
                *late,
                *early,
                1.15e-4 * want + 2e-6,
            );
            if index % 16 == 0 {
                rows.push(vec![ms, hz, db(want), db(*late), db(*early)]);
            }
        }
        for k in 0..((20_000.0 * ms / 1000.0 + 0.5) as usize).min(20) {
            let want = (k as f64 + 0.5) / (ms / 1000.0);
            let near = (want / line_hz).round() as usize;
            let lowest = (near - 40..near + 40).min_by(|a, b| late[*a].total_cmp(&late[*b]));
            let line = lowest.expect("lines");
            // Near its null a comb is |f - null|: both neighbours give the place between two lines.
            let (a, b) = (late[line - 1], late[line + 1]);
            let got = (line as f64 + (a - b) / (a + b)) * line_hz;
            assert_near(&format!("{ms} ms, null {k}"), got, want, want * 1e-3);
        }
    }
    write_csv(
        "sweep_comb",
        "offset_ms,hz,closed_form_db,late_db,early_db",
        &rows,
    );
}

#[test]
fn residue_of_a_flipped_deck() {
    // 20 log |2 sin πfd| against one deck (computed): offset in µs, Hz, dB.
    let table = [
        (1.0, 1000.0, -44.0),
        (10.0, 1000.0, -24.0),
        (10.0, 10_000.0, -4.2),
        (100.0, 1000.0, -4.2),
    ];
    let size = 48_000;
    for (us, hz, want) in table {
        for side in [1.0, -1.0] {
            let spectrum = response(side * us * 1e-6, &flipped(), size);
            let got = db(2.0 * spectrum[hz as usize]);
            assert_near(&format!("{us} µs, {hz} Hz, side {side}"), got, want, 0.1);
        }
    }
}
