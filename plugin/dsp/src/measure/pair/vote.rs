//! The variants' answers: each is heard by its score, by the variants that agree with it, and by the drum's first push.

use crate::measure::pair::pairs::Pair;

/// Answers of each variant that are heard.
pub(crate) const HEARD: usize = 5;
/// What another variant's agreement is worth, and the score at which it begins and is whole.
const AGREEMENT: f32 = 0.6;
const AGREES: (f32, f32) = (2.0, 6.0);
/// Worth of the drum's first pushes being alike in an answer's own polarity.
const PUSH: f32 = 2.0;
/// Most variants.
const VARIANTS: usize = 16;

/// One answer of one variant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Answer {
    pub pair: Pair,
    pub variant: usize,
    /// Samples, second minus first.
    pub gap: f64,
    /// How alike the drum's first pushes are there, -1 to 1.
    pub push: f32,
    /// How many other variants agree, each by how sure it is.
    pub support: f32,
    pub vote: f32,
}

impl Answer {
    /// -1 when one channel has reversed polarity.
    pub(crate) fn sign(&self) -> f32 {
        if self.pair.inverted { -1.0 } else { 1.0 }
    }
}

/// Keeps the [`HEARD`] best of the answers from `start` on.
pub(crate) fn keep_best(answers: &mut Vec<Answer>, start: usize, answer: Answer) {
    if answers.len() - start < HEARD {
        answers.push(answer);
        return;
    }
    let worse = |a: &&mut Answer, b: &&mut Answer| a.pair.score.total_cmp(&b.pair.score);
    if let Some(worst) = answers[start..].iter_mut().min_by(worse)
        && worst.pair.score < answer.pair.score
    {
        *worst = answer;
    }
}

/// The best answer, and how far its vote is ahead of the best other one; answers within `same` samples are one.
pub(crate) fn vote(answers: &mut [Answer], same: f64) -> Option<(Answer, f32)> {
    for n in 0..answers.len() {
        let support = support(answers, n, same);
        let answer = &mut answers[n];
        answer.support = support;
        answer.vote = answer.pair.score + AGREEMENT * support + PUSH * answer.push;
    }
    let highest = |a: &&Answer, b: &&Answer| a.vote.total_cmp(&b.vote);
    let best = *answers.iter().max_by(highest)?;
    let others = answers
        .iter()
        .filter(|answer| (answer.gap - best.gap).abs() >= 2.0 * same);
    let other = others.map(|answer| answer.vote).fold(0.0, f32::max);
    Some((best, best.vote - other))
}

/// How many other variants agree with an answer, each by how sure it is.
fn support(answers: &[Answer], n: usize, same: f64) -> f32 {
    let mut support = [0.0f32; VARIANTS];
    for other in answers {
        let agrees = (other.pair.score - AGREES.0) / (AGREES.1 - AGREES.0);
        if other.variant != answers[n].variant && (other.gap - answers[n].gap).abs() < same {
            let support = &mut support[other.variant];
            *support = support.max(agrees.clamp(0.0, 1.0));
        }
    }
    support.iter().sum()
}
