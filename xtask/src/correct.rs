//! The second pass: the built plugin, with the measurement in its state, corrects the take as an offline render.

use plumbline_hosting::{Applied, Bundle, Instance};

use crate::audio_writer::AudioWriter;
use crate::failure::Outcome;
use crate::hit_spectrum::HitSpectrum;
use crate::hit_windows::HitWindows;
use crate::measure::{Settings, prepare, session};
use crate::progress;
use crate::take::{BLOCK, Take, TakeBlock, TakeFiles};

/// Most reach the plugin has, ms.
const MOST_REACH_MS: f64 = 30.0;

/// The pair on the hits, and what was done to it.
pub struct Corrected {
    /// As recorded.
    pub before: HitSpectrum,
    /// After the correction.
    pub after: HitSpectrum,
    /// What the plugin did.
    pub applied: Applied,
    /// Reach it still lacked, seconds.
    pub missing_reach_s: f64,
    /// Its latency, samples; taken out of the files.
    pub latency: u32,
}

/// As recorded, or after the correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// What goes in.
    Before,
    /// What comes out, latency taken out.
    After,
}

/// What of the pair a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Both channels.
    Pair,
    /// The first alone.
    First,
    /// The second alone.
    Second,
    /// Half of first + second, so that it cannot clip where the pair does not.
    Mono,
}

impl Part {
    /// Channels of such a file.
    pub fn channels(self) -> usize {
        if self == Part::Pair { 2 } else { 1 }
    }
}

/// One file that is written during the second pass.
pub struct Print {
    /// Which side of the plugin.
    pub side: Side,
    /// Which channels.
    pub part: Part,
    /// The file.
    pub file: AudioWriter,
}

/// Plays the whole take through the plugin. `missing_reach_s` is what the anchor lacked without any reach.
pub fn correct(
    bundle: &Bundle,
    files: &TakeFiles,
    settings: &Settings,
    state: &[u8],
    missing_reach_s: f64,
    hits_s: &[f64],
    prints: &mut [Print],
) -> Outcome<Corrected> {
    let mut take = Take::open(files)?;
    let mut instance = bundle.open(&session(
        take.sample_rate(),
        take.spot_channels().first().copied(),
    ))?;
    instance.load(state)?;
    prepare(&mut instance, settings)?;
    instance.set(
        "reach",
        settings
            .reach_ms
            .unwrap_or_else(|| reach_ms(missing_reach_s, take.sample_rate())),
    )?;
    instance.restart()?;
    let mut meters = Meters::new(f64::from(take.sample_rate()), hits_s);
    let latency = instance.latency();
    play(
        &mut take,
        &mut instance,
        latency as usize,
        &mut meters,
        prints,
    )?;
    let saved = instance.measurement()?.unwrap_or_default();
    let Meters { before, after, .. } = meters;
    Ok(Corrected {
        before,
        after,
        applied: saved.applied,
        missing_reach_s: saved.missing_reach_s,
        latency,
    })
}

/// The reach that is needed, up to the next whole sample.
fn reach_ms(missing_s: f64, sample_rate: u32) -> f64 {
    let rate = f64::from(sample_rate);
    ((missing_s * rate).ceil() / rate * 1e3).min(MOST_REACH_MS)
}

fn play(
    take: &mut Take,
    instance: &mut Instance,
    latency: usize,
    meters: &mut Meters,
    prints: &mut [Print],
) -> Outcome {
    let mut block = take.block();
    let bar = progress::bar("correcting", take.frames());
    let mut late = Late { drop: latency };
    while take.read(&mut block)? {
        bar.inc(block.frames() as u64);
        meters.before([&block.pair[0], &block.pair[1]]);
        print(prints, Side::Before, [&block.pair[0], &block.pair[1]])?;
        late.pass(&mut block, instance, meters, prints)?;
    }
    let mut left = latency;
    while left > 0 {
        block.silence(left.min(BLOCK));
        left -= block.frames();
        late.pass(&mut block, instance, meters, prints)?;
    }
    bar.finish_and_clear();
    Ok(())
}

/// Takes the latency out: what leaves the plugin before the first input sample is dropped.
struct Late {
    drop: usize,
}

impl Late {
    fn pass(
        &mut self,
        block: &mut TakeBlock,
        instance: &mut Instance,
        meters: &mut Meters,
        prints: &mut [Print],
    ) -> Outcome {
        let [first, second] = &mut block.pair;
        let spot: Vec<&[f32]> = block
            .spots
            .first()
            .into_iter()
            .flatten()
            .map(Vec::as_slice)
            .collect();
        instance.process(&mut [first, second], &spot)?;
        let drop = self.drop.min(first.len());
        self.drop -= drop;
        meters.after([&first[drop..], &second[drop..]]);
        print(prints, Side::After, [&first[drop..], &second[drop..]])
    }
}

struct Meters {
    before_windows: HitWindows,
    after_windows: HitWindows,
    before: HitSpectrum,
    after: HitSpectrum,
}

impl Meters {
    fn new(sample_rate: f64, hits_s: &[f64]) -> Self {
        let windows = || HitWindows::new(sample_rate, hits_s);
        let spectrum = || HitSpectrum::new(sample_rate, windows().length());
        Self {
            before_windows: windows(),
            after_windows: windows(),
            before: spectrum(),
            after: spectrum(),
        }
    }

    fn before(&mut self, pair: [&[f32]; 2]) {
        self.before_windows
            .push(pair, |first, second| self.before.add(first, second));
    }

    fn after(&mut self, pair: [&[f32]; 2]) {
        self.after_windows
            .push(pair, |first, second| self.after.add(first, second));
    }
}

fn print(prints: &mut [Print], side: Side, pair: [&[f32]; 2]) -> Outcome {
    for print in prints.iter_mut().filter(|print| print.side == side) {
        match print.part {
            Part::Pair => print.file.write(&pair)?,
            Part::First => print.file.write(&pair[..1])?,
            Part::Second => print.file.write(&pair[1..])?,
            Part::Mono => print.file.write(&[&mono(pair)])?,
        }
    }
    Ok(())
}

fn mono([first, second]: [&[f32]; 2]) -> Vec<f32> {
    first
        .iter()
        .zip(second)
        .map(|(first, second)| 0.5 * (first + second))
        .collect()
}
