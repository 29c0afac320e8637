//! The analyser on a simple session: any rate, any block size, anything in the samples.

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup};
use plumbline_dsp::measurement::Polarity;

use crate::noise::Noise;
use crate::scene::{Session, delay};
use crate::support::{assert_below, assert_near};

const GAP_S: f64 = 0.000_437;
const SPOT_TO_FIRST_S: f64 = 0.003_1;

/// Eight strokes of a 190 Hz head under decaying noise in the spot, then in both overheads, ideally delayed.
fn session(rate: f64) -> Session {
    let mut noise = Noise::new(3);
    let length = (2.9 * rate) as usize;
    let mut dry = vec![0.0f32; length];
    let mut low = 0.0;
    let slope = 1.0 - (-std::f64::consts::TAU * 9_000.0f64.min(0.4 * rate) / rate).exp();
    for hit in 0..8 {
        let at = ((0.3 + 0.3 * f64::from(hit)) * rate) as usize;
        for n in 0..(0.1 * rate) as usize {
            low += slope * (noise.normal() - low);
            let t = n as f64 / rate;
            let head = (std::f64::consts::TAU * 190.0 * t).sin();
            dry[at + n] = (0.2 * (low + head) * (-t / 0.02).exp()) as f32;
        }
    }
    let mut session = Session::floor(rate, length, 1e-5, &mut noise);
    let arrivals = [SPOT_TO_FIRST_S, SPOT_TO_FIRST_S + GAP_S, 0.0];
    for (channel, arrival) in session.channels.iter_mut().zip(arrivals) {
        let heard = delay(&dry, arrival * rate);
        channel.iter_mut().zip(heard).for_each(|(x, y)| *x += y);
    }
    session
}

/// The same answer in seconds at every rate a host may run at.
#[test]
fn any_rate() {
    for rate in [
        8_000.0, 22_050.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0, 192_000.0, 384_000.0, 768_000.0,
    ] {
        let analyser = session(rate).analysed(Inputs::PairAndSpot);
        let m = analyser.measurement();
        let gap = m.gap.expect("a gap");
        let (first, second) = (
            m.spot_to_first.expect("first"),
            m.spot_to_second.expect("second"),
        );
        println!(
            "{rate} Hz: hits {}, gap {:.3} us off, spot to first {:.2} us off",
            m.hits,
            (gap.attack_s - GAP_S) * 1e6,
            (first.attack_s - SPOT_TO_FIRST_S) * 1e6
        );
        let counted: u32 = m.drums().iter().map(|drum| drum.hits).sum();
        assert_eq!((counted, gap.polarity), (8, Polarity::Same), "{rate} Hz");
        assert_near("gap", gap.attack_s, GAP_S, 2e-6);
        let tolerance = 10e-6;
        assert_near("spot to first", first.attack_s, SPOT_TO_FIRST_S, tolerance);
        assert_near(
            "spot to second",
            second.attack_s,
            SPOT_TO_FIRST_S + GAP_S,
            tolerance,
        );
    }
}

/// However the stream is cut, every number is the same.
#[test]
fn any_block_size() {
    let session = session(48_000.0);
    let mut whole = session.analysed(Inputs::PairAndSpot);
    for block in [1, 7, 64, 480, 100_000] {
        let mut analyser = Analyser::new(AnalyserSetup {
            sample_rate: 48_000.0,
            inputs: Inputs::PairAndSpot,
        });
        let [first, second, spot] = &session.channels;
        for start in (0..first.len()).step_by(block) {
            let end = (start + block).min(first.len());
            analyser.push(&first[start..end], &second[start..end], &spot[start..end]);
            analyser.push(&[], &[], &[]);
        }
        analyser.settle();
        assert_eq!(analyser.measurement(), whole.measurement(), "block {block}");
        assert_eq!(analyser.hits(), whole.hits(), "block {block}");
        assert_eq!(analyser.lag_curve(), whole.lag_curve(), "block {block}");
    }
}

/// What is not a number is heard as silence.
#[test]
fn not_a_number() {
    let mut session = session(48_000.0);
    for channel in &mut session.channels {
        channel[100] = f32::NAN;
        channel[5_000] = f32::INFINITY;
        channel[90_000] = f32::NEG_INFINITY;
    }
    let gap = session
        .analysed(Inputs::PairAndSpot)
        .measurement()
        .gap
        .expect("a gap");
    assert_near("gap", gap.attack_s, GAP_S, 2e-6);
}

/// A channel and a spot: the lag is the channel's.
#[test]
fn mono_and_spot() {
    let analyser = session(48_000.0)
        .scaled(0, -1.0)
        .analysed(Inputs::MonoAndSpot);
    let m = analyser.measurement();
    let lag = m.spot_to_first.expect("a lag");
    assert_eq!(
        (m.gap, m.spot_to_second, lag.polarity),
        (None, None, Polarity::Inverted)
    );
    assert_near("spot to first", lag.attack_s, SPOT_TO_FIRST_S, 10e-6);
}

/// Refused and counted: full scale.
#[test]
fn refused_hits_are_counted() {
    let clipped = session(48_000.0).scaled(2, 100.0);
    let clipped = clipped.channels.map(|channel| {
        channel
            .iter()
            .map(|x| x.clamp(-1.0, 1.0))
            .collect::<Vec<f32>>()
    });
    let clipped = Session {
        rate: 48_000.0,
        channels: clipped,
    }
    .analysed(Inputs::PairAndSpot);
    let m = clipped.measurement();
    assert!(m.gap.is_none() && m.refused.clipped >= 8, "{m:?}");
}

/// A second stroke 30 or 55 ms after each: what it adds to the window does not move the gap.
#[test]
fn a_second_stroke_soon_after_leaves_the_gap() {
    for apart in [1_440.0, 2_640.0] {
        let mut twice = session(48_000.0);
        let again = (0..3).fold(twice.clone(), |again, channel| {
            again.delayed(channel, apart)
        });
        for (channel, again) in twice.channels.iter_mut().zip(again.channels) {
            channel.iter_mut().zip(again).for_each(|(x, y)| *x += y);
        }
        let m = *twice.analysed(Inputs::PairAndSpot).measurement();
        let gap = m.gap.expect("a gap").attack_s;
        println!("{apart} samples: {} hits, {:?}", m.hits, m.refused);
        assert_near("gap", gap * 48_000.0, GAP_S * 48_000.0, 0.05);
    }
}

/// Usable after one hit, settled after four: the spread of four strokes that say the same holds where the stick may have landed and
/// what two microphones differ by, 0.39 sample; 0.3 was reached by a spread that held neither and covered 78 % where 95 were claimed.
#[test]
fn one_hit_then_four() {
    let session = session(48_000.0);
    for (hits, seconds) in [(1, 0.5), (4, 1.4)] {
        let end = (seconds * 48_000.0) as usize;
        let cut = Session {
            rate: 48_000.0,
            channels: session
                .channels
                .clone()
                .map(|channel| channel[..end].to_vec()),
        };
        let analyser = cut.analysed(Inputs::PairAndSpot);
        let gap = analyser.measurement().gap.expect("a gap");
        println!(
            "{hits} hits: {:.3} samples off, spread {:.3}",
            (gap.attack_s - GAP_S) * 48_000.0,
            gap.spread_s * 48_000.0
        );
        assert_eq!(analyser.measurement().hits, hits);
        assert_near("gap", gap.attack_s * 48_000.0, GAP_S * 48_000.0, 0.1);
        if hits == 4 {
            assert_below("spread", gap.spread_s * 48_000.0, 0.4);
        }
    }
}

/// The answer is there 50 ms after the hit's window: the window itself lasts 50 ms.
#[test]
fn answers_in_time() {
    let session = session(48_000.0);
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate: 48_000.0,
        inputs: Inputs::PairAndSpot,
    });
    let until = ((0.3 + 0.050 + 0.050) * 48_000.0) as usize;
    let [first, second, spot] = &session.channels;
    analyser.push(&first[..until], &second[..until], &spot[..until]);
    assert_eq!(analyser.measurement().hits, 1);
}

/// `clear` begins anew, `reset` keeps the hits.
#[test]
fn clear_and_reset() {
    let session = session(48_000.0);
    let mut analyser = session.analysed(Inputs::PairAndSpot);
    let before = *analyser.measurement();
    analyser.reset();
    assert_eq!(*analyser.measurement(), before);
    analyser.clear();
    assert_eq!(
        analyser.measurement().hits + analyser.hits().len() as u32,
        0
    );
    let [first, second, spot] = &session.channels;
    analyser.push(first, second, spot);
    analyser.settle();
    assert_eq!(*analyser.measurement(), before);
}
