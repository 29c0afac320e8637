//! Finds strokes where cymbals are not: steps of the energy at a drum's body, in every channel's own energy.

use crate::channels::{CHANNELS, SPOT};
use crate::math::biquad::Biquad;

/// Where drums are and cymbals are 25 dB down (own measurement).
const BODY_HZ: (f64, f64) = (110.0, 420.0);
/// Energy after against energy before is taken over this long: two cycles of the deepest snare's body.
const SPAN_S: f64 = 0.012;
/// Time between two looks: short against the body's shortest cycle.
const HOP_S: f64 = 0.000_18;
/// A stroke's energy is at least so many times what was before: 4 dB.
const STEP: f64 = 2.5;
/// A stroke softer than this against the loudest of late is left out, power: 32 dB, below a soft ghost note.
const SOFTEST: f64 = 6.3e-4;
/// What lies this far below the loudest of late is noise, power: 40 dB.
const NOISE: f64 = 1e-4;
/// Two steps nearer than this are one stroke: 20 a second is faster than any roll of single strokes.
pub(crate) const APART_S: f64 = 0.050;
/// The loudest of late is forgotten by half in this time.
const FORGET_S: f64 = 10.0;
/// Heights this near each other (0.02 dB) are one plateau: where nothing was heard before, the height is the same from the moment that
/// the newer span reaches the front until the older one does, and that is where the stroke is.
const LEVEL: f64 = 0.005;
/// Nothing below -100 dBFS counts, power.
const FLOOR: f64 = 1e-10;

/// A stroke that was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Found {
    /// Working sample at which it begins, to a hop.
    pub at: u64,
    /// How much later the spot's own step is, working samples; `None` where it has none near.
    pub spot_later: Option<i32>,
}

#[derive(Debug)]
struct Channel {
    low: Biquad,
    high: Biquad,
    /// Energy of the hop that is being filled.
    filling: f64,
    /// Energies of the last hops, a ring of twice the span.
    hops: Box<[f64]>,
    /// Their sums over the newer span and over the older.
    late: f64,
    early: f64,
    /// Loudest span of late.
    loudest: f64,
}

impl Channel {
    /// Takes the hop that was filled into both sums; they are made anew once a turn, so that rounding does not gather.
    fn turn(&mut self, here: usize, span: usize, scale: f64) {
        let length = self.hops.len();
        let middle = self.hops[(here + length - span) % length];
        self.early += middle - self.hops[here];
        let newest = self.filling * scale;
        self.late += newest - middle;
        self.hops[here] = newest;
        self.filling = 0.0;
        if here + 1 == length {
            self.early = self.hops[..span].iter().sum();
            self.late = self.hops[span..].iter().sum();
        }
    }
}

/// A step that may be a stroke.
#[derive(Clone, Copy, Debug)]
struct Step {
    hop: u64,
    /// Log of the energy after over the energy before.
    height: f64,
}

/// Frames in, strokes out, [`APART_S`] and a span late.
#[derive(Debug)]
pub(crate) struct StrokeFinder {
    channels: [Channel; CHANNELS],
    hop: usize,
    span: usize,
    apart: u64,
    forget: f64,
    in_hop: usize,
    /// Hops completed.
    count: u64,
    /// Of all channels: what makes a stroke.
    all: Steps,
    /// Of the overheads: when it was, wherever a spot stands and however late it comes.
    overheads: Steps,
    spot: Steps,
}

/// Heights of late and the highest step among them.
#[derive(Clone, Copy, Debug, Default)]
struct Steps {
    last: [f64; 2],
    /// Has not been told.
    best: Option<Step>,
}

impl Steps {
    /// Takes the next height; the one before it lies at `hop`.
    fn push(&mut self, height: f64, hop: u64) {
        let [before, middle] = self.last;
        self.last = [middle, height];
        if middle > STEP.ln() && middle >= before && middle > height {
            self.take(hop, middle);
        }
    }

    fn take(&mut self, hop: u64, height: f64) {
        let Some(best) = &mut self.best else {
            self.best = Some(Step { hop, height });
            return;
        };
        if height < best.height - LEVEL {
            return;
        }
        best.hop = hop;
        best.height = best.height.max(height);
    }
}

impl StrokeFinder {
    pub(crate) fn new(rate: f64) -> Self {
        let hop = ((HOP_S * rate).round() as usize).max(1);
        let span = (SPAN_S * rate / hop as f64).round() as usize;
        let channel = || Channel {
            low: Biquad::low_pass(BODY_HZ.1, rate),
            high: Biquad::high_pass(BODY_HZ.0, rate),
            filling: 0.0,
            hops: vec![0.0; 2 * span].into(),
            late: 0.0,
            early: 0.0,
            loudest: 0.0,
        };
        Self {
            channels: std::array::from_fn(|_| channel()),
            hop,
            span,
            apart: (APART_S * rate / hop as f64) as u64,
            forget: 0.5f64.powf(hop as f64 / (FORGET_S * rate)),
            in_hop: 0,
            count: 0,
            all: Steps::default(),
            overheads: Steps::default(),
            spot: Steps::default(),
        }
    }

    pub(crate) fn reset(&mut self) {
        self.in_hop = 0;
        self.count = 0;
        self.all = Steps::default();
        self.overheads = Steps::default();
        self.spot = Steps::default();
        for channel in &mut self.channels {
            channel.filling = 0.0;
            channel.hops.fill(0.0);
            (channel.late, channel.early) = (0.0, 0.0);
            channel.loudest = 0.0;
        }
    }

    /// Takes the next frame; a stroke when this frame tells.
    pub(crate) fn push(&mut self, frame: [f32; CHANNELS]) -> Option<Found> {
        for (channel, sample) in self.channels.iter_mut().zip(frame) {
            let y = channel.low.next(f64::from(sample));
            let y = channel.high.next(y);
            channel.filling += y * y;
        }
        self.in_hop += 1;
        if self.in_hop < self.hop {
            return None;
        }
        self.in_hop = 0;
        self.end_hop()
    }

    fn end_hop(&mut self) -> Option<Found> {
        let length = 2 * self.span;
        let here = (self.count % length as u64) as usize;
        let scale = 1.0 / (self.hop * self.span) as f64;
        for channel in &mut self.channels {
            channel.turn(here, self.span, scale);
        }
        self.count += 1;
        if self.count < 3 * length as u64 {
            return None;
        }
        for channel in &mut self.channels {
            channel.loudest = (channel.loudest * self.forget).max(channel.late);
        }
        let place = self.count - self.span as u64 - 1;
        let told = self.tell(place);
        let [all, overheads, spot] = [
            &self.channels[..],
            &self.channels[..SPOT],
            &self.channels[SPOT..],
        ]
        .map(step);
        self.all.push(all, place - 1);
        self.overheads.push(overheads, place - 1);
        self.spot.push(spot, place - 1);
        told
    }

    fn tell(&mut self, place: u64) -> Option<Found> {
        let best = self
            .all
            .best
            .take_if(|best| place >= best.hop + self.apart)?;
        let near = |steps: &mut Steps| {
            let step = steps.best.take();
            step.filter(|step| step.hop.abs_diff(best.hop) <= self.span as u64)
        };
        let (overheads, spot) = (near(&mut self.overheads), near(&mut self.spot));
        let at = overheads.unwrap_or(best).hop;
        let later = |spot: Step| (spot.hop as i64 - at as i64) as i32 * self.hop as i32;
        Some(Found {
            at: at * self.hop as u64,
            spot_later: spot.map(later),
        })
    }
}

/// The log of the energy after the middle of the ring over the energy before it; nothing when too soft.
fn step(channels: &[Channel]) -> f64 {
    let (mut after, mut before, mut open) = (0.0, 0.0, 0.0);
    for channel in channels.iter().filter(|channel| channel.loudest > FLOOR) {
        after += channel.late.max(0.0) / channel.loudest;
        before += channel.early.max(0.0) / channel.loudest;
        open += 1.0;
    }
    if after - before < SOFTEST * open || open == 0.0 {
        return 0.0;
    }
    ((after + NOISE * open) / (before + NOISE * open)).ln()
}
