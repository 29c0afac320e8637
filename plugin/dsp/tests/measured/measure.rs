//! The analyser as the tables see it: channels in, the gap with its spread, confidence and polarity out.

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup, Evidence};
use plumbline_dsp::measurement::Polarity;

/// What a measurement says about a whole take, in samples of the take.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Second minus first, samples.
    pub gap_samples: f64,
    /// Standard error that the measurement claims, samples.
    pub spread_samples: f64,
    /// Probability of an error under 1 cm of air that the measurement claims.
    pub confidence: f64,
    /// Second against first.
    pub polarity: Polarity,
    /// What the measurement calls the drum it measured.
    pub drum: String,
    /// What the measurement weighed, by name, to fit its constants with; empty where the analyser does not tell.
    pub features: Vec<(&'static str, f64)>,
}

/// Samples a call of `push`.
const BLOCK: usize = 4096;

/// Hears first, second and spot from beginning to end; `None` when there is no verdict.
pub fn measure(channels: [&[f32]; 3], inputs: Inputs, rate: f64) -> Option<Answer> {
    answer(&analysed(channels, inputs, rate), rate)
}

/// The verdict of an analyser so far.
pub fn answer(analyser: &Analyser, rate: f64) -> Option<Answer> {
    let measurement = analyser.measurement();
    let lag = measurement.gap?;
    Some(Answer {
        gap_samples: lag.attack_s * rate,
        spread_samples: lag.spread_s * rate,
        confidence: lag.confidence,
        polarity: lag.polarity,
        drum: measurement
            .chosen()
            .map_or(String::new(), |drum| format!("{:?}", drum.kind)),
        features: analyser.evidence().map_or(Vec::new(), features),
    })
}

/// What the confidence is made of, by name.
fn features(evidence: Evidence) -> Vec<(&'static str, f64)> {
    vec![
        ("lead", evidence.lead),
        ("coherent", evidence.coherent),
        ("strokes_alike", evidence.strokes_alike),
        ("tail", evidence.tail),
        ("push", evidence.push),
        ("clear_polarity", evidence.clear_polarity),
        ("margin", evidence.margin),
        ("strokes", evidence.strokes),
        ("jackknife_us", evidence.jackknife_us),
        ("bootstrap_us", evidence.bootstrap_us),
        ("variants_us", evidence.variants_us),
        ("height", evidence.height),
        ("swing", evidence.swing),
        ("body", evidence.body),
        ("own_us", evidence.own_us),
        ("own_part", evidence.own_part),
    ]
}

/// An analyser that has heard the whole take. A channel that `inputs` does not have is not pushed; an empty spot with
/// [`Inputs::PairAndSpot`] is a side chain that the host leaves out.
pub fn analysed(channels: [&[f32]; 3], inputs: Inputs, sample_rate: f64) -> Analyser {
    let mut analyser = Analyser::new(AnalyserSetup {
        sample_rate,
        inputs,
    });
    push(&mut analyser, channels, inputs);
    analyser.settle();
    analyser
}

/// Pushes the whole take in blocks.
pub fn push(analyser: &mut Analyser, channels: [&[f32]; 3], inputs: Inputs) {
    let [first, second, spot] = channels;
    let second = if inputs == Inputs::MonoAndSpot {
        &[]
    } else {
        second
    };
    let spot = if inputs == Inputs::Pair { &[] } else { spot };
    for start in (0..first.len()).step_by(BLOCK) {
        let end = (start + BLOCK).min(first.len());
        let [first, second, spot] =
            [first, second, spot].map(|channel| channel.get(start..end).unwrap_or(&[]));
        analyser.push(first, second, spot);
    }
}
