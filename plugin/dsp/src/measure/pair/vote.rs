//! The variants' answers: each is heard by its score, by the drum's first push, and by the tail in the whitened stacks.

use crate::measure::pair::pairs::Pair;

/// Answers of each variant that are heard.
pub(crate) const HEARD: usize = 5;
/// Worth of the drum's first pushes being alike in an answer's own polarity.
const PUSH: f32 = 2.0;
/// Worth of the whitened stacks being alike in the tail, which is heard where loud cymbals hide the fronts.
const TAIL: f32 = 2.0;

/// One answer of one variant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Answer {
    pub pair: Pair,
    pub variant: usize,
    /// Samples, second minus first.
    pub gap: f64,
    /// How alike the drum's first pushes are there, -1 to 1.
    pub push: f32,
    /// How alike the whitened stacks are from the fronts on, -1 to 1.
    pub tail: f32,
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
    for answer in answers.iter_mut() {
        answer.vote = answer.pair.score + PUSH * answer.push + TAIL * answer.tail;
    }
    let highest = |a: &&Answer, b: &&Answer| a.vote.total_cmp(&b.vote);
    let best = *answers.iter().max_by(highest)?;
    let others = answers
        .iter()
        .filter(|answer| (answer.gap - best.gap).abs() >= 2.0 * same);
    let other = others.map(|answer| answer.vote).fold(0.0, f32::max);
    Some((best, best.vote - other))
}
