//! What any measurement of a drum must hold: what a swap, a reversed cable, a delay, a level, a rate or a late spot does to it.

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup, DrumChoice};
use plumbline_dsp::measurement::{Hit, HitOutcome, Lag, Measurement, Polarity};

use crate::real_grooves::{Cable, GrooveSettings, RATE, Style, strokes};
use crate::recordings::{Stroke, folder, kit, session};
use crate::scene::Session;
use crate::support::{assert_below, assert_near};
use crate::take::Take;

fn analysed(channels: [&[f32]; 3], inputs: Inputs, sample_rate: f64) -> Analyser {
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate,
        inputs,
    });
    let [first, second, spot] = channels;
    analyser.push(first, second, spot);
    analyser.settle();
    analyser
}

fn measured(channels: [&[f32]; 3], inputs: Inputs) -> Measurement {
    *analysed(channels, inputs, RATE).measurement()
}

fn gap(measurement: &Measurement) -> Lag {
    measurement.gap.expect("a gap")
}

fn groove(style: Style, cymbals: f64, seed: u64) -> Option<Take> {
    let settings = GrooveSettings {
        style,
        cymbals,
        seed,
        ..GrooveSettings::default()
    };
    strokes().map(|strokes| strokes.groove(&settings))
}

fn snare() -> Option<Session> {
    let folder = folder()?;
    let strokes: Vec<Stroke> = kit(&folder, "sc", ["oh_mic", "side_mic", "snare_mic"]);
    Some(session(&strokes))
}

fn of(session: &Session) -> Measurement {
    let [first, second, spot] = &session.channels;
    measured([first, second, spot], Inputs::PairAndSpot)
}

/// Channels swapped: the same gap with the other sign.
#[test]
fn swapping_the_channels_negates_the_gap() {
    let Some(g) = groove(Style::HalfOpen, 2.0, 1_040) else {
        return;
    };
    let ahead = gap(&measured([&g.first, &g.second, &[]], Inputs::Pair));
    let back = gap(&measured([&g.second, &g.first, &[]], Inputs::Pair));
    assert_near("gap", back.attack_s * RATE, -ahead.attack_s * RATE, 0.01);
    assert_eq!(ahead.polarity, back.polarity);
}

/// A reversed cable turns the verdict over and leaves the gap.
#[test]
fn a_reversed_cable_turns_the_polarity_over() {
    let Some(strokes) = strokes() else { return };
    for style in [Style::Plain, Style::Open] {
        let settings = GrooveSettings {
            style,
            seed: 1_041,
            ..GrooveSettings::default()
        };
        let reversed = GrooveSettings {
            second: Cable::Reversed,
            ..settings
        };
        let [right, turned] = [settings, reversed].map(|settings| {
            let g = strokes.groove(&settings);
            gap(&measured([&g.first, &g.second, &[]], Inputs::Pair))
        });
        assert_eq!(
            [right.polarity, turned.polarity],
            [Polarity::Same, Polarity::Inverted],
            "{style:?}"
        );
        assert_near("gap", turned.attack_s * RATE, right.attack_s * RATE, 0.01);
    }
}

/// One channel later by a known fraction moves the gap by that.
#[test]
fn a_known_fraction_moves_the_gap_by_itself() {
    let Some(session) = snare() else { return };
    let before = gap(&of(&session)).attack_s * RATE;
    for (channel, later) in [(1, 0.37), (1, 2.5), (0, 0.81)] {
        let after = gap(&of(&session.clone().delayed(channel, later))).attack_s * RATE;
        let expected = if channel == 1 { later } else { -later };
        println!("channel {channel} later by {later}: {:.4}", after - before);
        assert_near("fraction", after - before, expected, 0.02);
    }
}

/// 20 dB less and a spot 20 dB quieter: the gap stays. A spot 5 ms late moves it by less than a tenth of its spread: the spot helps to
/// align the strokes on each other, and another part of it is heard then.
#[test]
fn level_and_the_spots_time_leave_the_gap() {
    let Some(session) = snare() else { return };
    let before = gap(&of(&session)).attack_s * RATE;
    let quiet = (0..3).fold(session.clone(), |session, channel| {
        session.scaled(channel, 0.1)
    });
    let late = session.clone().delayed(2, (0.005 * RATE).round());
    let quiet_spot = session.clone().scaled(2, 0.1);
    for (case, changed, limit) in [
        ("20 dB less", quiet, 0.01),
        ("spot late", late, 0.025),
        ("spot quiet", quiet_spot, 0.01),
    ] {
        let after = gap(&of(&changed)).attack_s * RATE;
        println!("{case}: {:.4}", after - before);
        assert_near(case, after, before, limit);
    }
}

/// One channel against the spot: the same path, the spot's own drum.
#[test]
fn one_channel_is_measured_against_the_spot() {
    let Some(session) = snare() else { return };
    let [first, _, spot] = &session.channels;
    let measurement = measured([first, &[], spot], Inputs::MonoAndSpot);
    let lag = measurement.spot_to_first.expect("a lag");
    println!("{lag:?}");
    assert!(measurement.gap.is_none());
    assert_near("spot to first", lag.attack_s * RATE, 85.8, 3.0);
}

/// A spot that is connected and silent is no spot.
#[test]
fn a_silent_spot_changes_nothing() {
    let Some(g) = groove(Style::Hats, 1.0, 1_042) else {
        return;
    };
    let alone = gap(&measured([&g.first, &g.second, &[]], Inputs::Pair));
    let silent = vec![0.0; g.first.len()];
    let with = gap(&measured(
        [&g.first, &g.second, &silent],
        Inputs::PairAndSpot,
    ));
    assert_eq!(alone.attack_s, with.attack_s);
}

/// The same take at 96 kHz has the same gap in seconds.
#[test]
fn the_rate_does_not_matter() {
    let Some(session) = snare() else { return };
    let before = gap(&of(&session)).attack_s;
    let channels = session
        .channels
        .clone()
        .map(|channel| resampled(&channel, 320, 147));
    let [first, second, spot] = &channels;
    let after = analysed([first, second, spot], Inputs::PairAndSpot, 96_000.0);
    let after = gap(after.measurement()).attack_s;
    assert_near("gap, samples at 44.1 kHz", after * RATE, before * RATE, 0.1);
}

/// Ideal resampling by a ratio of whole numbers, through the spectrum; as much of the signal as is a multiple of `down`.
fn resampled(signal: &[f32], up: usize, down: usize) -> Vec<f32> {
    use realfft::RealFftPlanner;
    let length = signal.len() / down * down;
    let mut time: Vec<f64> = signal[..length].iter().map(|x| f64::from(*x)).collect();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(length);
    let inverse = planner.plan_fft_inverse(length / down * up);
    let mut spectrum = forward.make_output_vec();
    forward
        .process(&mut time, &mut spectrum)
        .expect("lengths fit");
    let mut wide = inverse.make_input_vec();
    for (wide, line) in wide.iter_mut().zip(&spectrum[..spectrum.len() - 1]) {
        *wide = line / length as f64;
    }
    let mut out = inverse.make_output_vec();
    inverse.process(&mut wide, &mut out).expect("lengths fit");
    out.iter().map(|x| *x as f32).collect()
}

/// Two bars played round and round say no more than two bars.
#[test]
fn a_loop_does_not_make_it_surer() {
    let Some(g) = groove(Style::HalfOpen, 2.0, 1_043) else {
        return;
    };
    let bars = (2.0 * 4.0 * 60.0 / 104.0 * RATE) as usize;
    let start = (0.45 * RATE) as usize;
    let cut =
        |channel: &[f32], times: usize| -> Vec<f32> { channel[start..start + bars].repeat(times) };
    let [once, often] = [1, 6].map(|times| {
        let (first, second) = (cut(&g.first, times), cut(&g.second, times));
        measured([&first, &second, &[]], Inputs::Pair)
    });
    println!("once {:?}\noften {:?}", once.gap, often.gap);
    assert!(
        often.hits <= once.hits + 3,
        "{} of {}",
        often.hits,
        once.hits
    );
    assert!(gap(&often).spread_s > 0.6 * gap(&once).spread_s);
}

/// A drum struck alone is measured within 50 ms of the end of its window.
#[test]
fn a_single_stroke_answers_at_once() {
    let Some(session) = snare() else { return };
    let [first, second, spot] = &session.channels;
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: RATE,
        inputs: Inputs::PairAndSpot,
    });
    let struck = 0.3 + 0.042;
    let until = ((struck + 0.050) * RATE) as usize;
    analyser.push(&first[..until], &second[..until], &spot[..until]);
    let lag = gap(analyser.measurement());
    println!("{lag:?}");
    assert_near("gap", lag.attack_s * RATE, 1.0, 3.0);
}

/// A picked drum is found again in another take by what it sounds like.
#[test]
fn a_picked_drum_is_found_again() {
    let (Some(g), Some(other)) = (
        groove(Style::Hats, 1.0, 1_044),
        groove(Style::Plain, 1.0, 1_045),
    ) else {
        return;
    };
    let one = measured([&g.first, &g.second, &[]], Inputs::Pair);
    let kick = one
        .drums()
        .iter()
        .find(|drum| Some(drum.number) != one.chosen().map(|d| d.number));
    let kick = kick.expect("a second drum");
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: RATE,
        inputs: Inputs::Pair,
    });
    analyser.choose(DrumChoice::Picked(kick.signature));
    analyser.push(&other.first, &other.second, &[]);
    analyser.settle();
    let found = gap(analyser.measurement()).attack_s;
    let wanted = kick.gap.expect("a gap").attack_s;
    assert_near("gap", found * RATE, wanted * RATE, 3.0);
    analyser.choose(DrumChoice::Auto);
    assert_near(
        "snare",
        gap(analyser.measurement()).attack_s * RATE,
        1.0,
        1.5,
    );
}

/// Every hit of the log that was counted belongs to a drum, and numbers last from one push to the next.
#[test]
fn a_drums_number_lasts() {
    let Some(g) = groove(Style::Plain, 1.0, 1_046) else {
        return;
    };
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: RATE,
        inputs: Inputs::Pair,
    });
    let half = g.first.len() / 2;
    analyser.push(&g.first[..half], &g.second[..half], &[]);
    let before = *analyser.measurement();
    analyser.push(&g.first[half..], &g.second[half..], &[]);
    let after = *analyser.measurement();
    assert_eq!(
        before.chosen().map(|drum| drum.number),
        after.chosen().map(|drum| drum.number)
    );
    let counted = |hit: &&Hit| matches!(hit.outcome, HitOutcome::Counted { .. });
    assert!(analyser.hits().iter().filter(counted).count() > 20);
}

/// Nothing is taken from the heap while listening, fitting or choosing, at any rate; and little when it is made.
#[test]
fn listening_never_allocates() {
    for rate in [8_000.0, 48_000.0, 96_000.0, 768_000.0] {
        let audio = crate::memory::groove(rate, 3.0);
        let start = crate::memory::taken();
        let mut analyser = Analyser::new(AnalyserSetup {
            sample_rate: rate,
            inputs: Inputs::PairAndSpot,
        });
        let made = crate::memory::taken();
        analyser.push(&audio, &audio, &audio);
        analyser.choose(DrumChoice::Kick);
        analyser.settle();
        let listened = crate::memory::taken();
        let bytes = made.0 - start.0;
        println!("{rate} Hz: {bytes} bytes, {:?}", analyser.measurement().gap);
        assert_eq!(listened, made, "{rate} Hz");
        assert_below("bytes", bytes as f64, (6 << 20) as f64);
    }
}

/// What listening costs against real time, at 96 kHz with a spot.
#[test]
#[ignore = "a figure: run alone on an idle machine"]
fn times_real_time() {
    let Some(g) = groove(Style::HalfOpen, 1.0, 1_047) else {
        return;
    };
    let channels = [&g.first, &g.second, &g.snare].map(|channel| resampled(channel, 320, 147));
    let [first, second, spot] = &channels;
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: 96_000.0,
        inputs: Inputs::PairAndSpot,
    });
    let rounds = 6;
    let start = std::time::Instant::now();
    for _ in 0..rounds {
        analyser.push(first, second, spot);
    }
    let spent = start.elapsed().as_secs_f64();
    let heard = rounds as f64 * first.len() as f64 / 96_000.0;
    println!("{heard:.0} s in {spent:.2} s: {:.0} x", heard / spent);
}
