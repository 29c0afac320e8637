//! One drum's strokes stacked in many ways: two alignments, each in three bands and whitened.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::Edges;
use crate::measure::hit::stroke::power;
use crate::measure::hit::window::Window;
use crate::measure::pair::colour::Colour;
use crate::measure::pair::stacks::{Laid, Stacks};
use crate::measure::pair::whitening::Whitener;

/// Bands of the vote, Hz; the fourth is the whitened one.
const BANDS_HZ: [Edges; 3] = [
    edges(300.0, 12_000.0),
    edges(800.0, 9_000.0),
    edges(300.0, 4_000.0),
];
/// The three bands, and the whitened one.
const COLOURS: usize = BANDS_HZ.len() + 1;
/// Two alignments, plain and whitened, each in all colours.
pub(crate) const VARIANTS: usize = 2 * COLOURS;

const fn edges(low_hz: f64, high_hz: f64) -> Edges {
    Edges { low_hz, high_hz }
}

/// The widest band, where a front is sharpest.
pub(crate) fn widest() -> Colour {
    Colour::Lifted(BANDS_HZ[0])
}

/// Numbers of an alignment's variants.
pub(crate) fn of(alignment: usize) -> std::ops::Range<usize> {
    alignment * COLOURS..(alignment + 1) * COLOURS
}

/// Number of an alignment's whitened variant.
pub(crate) fn whitened(alignment: usize) -> usize {
    of(alignment).end - 1
}

/// The alignment that a variant is stacked in.
pub(crate) fn alignment(variant: usize) -> usize {
    variant / COLOURS
}

/// A stack of each variant, and one of a band apart.
pub(crate) struct Variants {
    window: Window,
    pub stacks: Stacks,
    /// Of each alignment.
    whiteners: [Whitener; 2],
}

impl Variants {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            stacks: Stacks::new(window, VARIANTS + 1),
            whiteners: [Whitener::default(); 2],
            window,
        }
    }

    /// Cuts the strokes in one alignment and makes the whitener of what its template does not explain.
    pub(crate) fn begin(&mut self, laid: Laid<'_>, alignment: usize) -> Whitener {
        self.stacks.cut_pair(laid, alignment);
        self.whiteners[alignment] = self.stacks.whitener(laid, alignment);
        self.whiteners[alignment]
    }

    /// Stacks what was cut last as one of its alignment's variants.
    pub(crate) fn stack(&mut self, laid: Laid<'_>, variant: usize) {
        let white = Colour::White(self.whiteners[alignment(variant)]);
        let band = BANDS_HZ.get(variant % COLOURS);
        let colour = band.map_or(white, |edges| Colour::Lifted(*edges));
        self.stacks.stack(laid, alignment(variant), colour, variant);
    }

    /// The whitened stacks in a variant's alignment: what is left of cymbals there is flat.
    pub(crate) fn white(&self, variant: usize) -> [&[f32]; 2] {
        self.stacks.templates(whitened(alignment(variant)))
    }

    /// Stacks the plain alignment in a band apart.
    pub(crate) fn stack_apart(&mut self, laid: Laid<'_>, band: Edges) -> Apart<'_> {
        self.stacks.cut_pair(laid, 0);
        self.stacks.stack(laid, 0, Colour::Band(band), VARIANTS);
        Apart {
            window: &self.window,
            stacks: self.stacks.templates(VARIANTS),
        }
    }
}

/// Two stacks in a band apart.
pub(crate) struct Apart<'a> {
    window: &'a Window,
    stacks: [&'a [f32]; 2],
}

impl Apart<'_> {
    /// Correlation around two places, seconds before to seconds after.
    pub(crate) fn alike(&self, at: [usize; 2], span_s: (f64, f64)) -> f32 {
        let before = self.window.samples(span_s.0);
        let length = before + self.window.samples(span_s.1);
        let [first, second] = [0, 1].map(|k| {
            let from = (at[k] - before).min(self.stacks[k].len() - length);
            &self.stacks[k][from..from + length]
        });
        let norm = (power(first) * power(second)).sqrt() as f32 * length as f32;
        shifted_dot(first, second, 0) / norm.max(f32::MIN_POSITIVE)
    }
}
