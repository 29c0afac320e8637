//! The first pass: the built plugin listens to a take, one instance a spot, and says what it found.

use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::{Bundle, Instance, Layout, Session};

use crate::failure::{Failure, Outcome, refuse};
use crate::found::Found;
use crate::progress;
use crate::take::{BLOCK, Take, TakeBlock, TakeFiles};
use crate::verdict::refused_words;

/// Below this peak a channel is silent: -100 dB of full scale.
const SILENT: f32 = 1e-5;
/// Seconds of silence after the take, so that a hit at its very end is heard out.
const AFTER_S: f64 = 0.25;
/// Seconds between two looks at the plugin's log, which keeps the newest hits only.
const LOOK_S: f64 = 1.0;

/// The engineer's choices, as the plugin's parameters take them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Which signal stays.
    pub anchor: Anchor,
    /// Attack or Body.
    pub target: Match,
    /// Part of the correction, per cent.
    pub amount: f64,
    /// Air, degrees Celsius.
    pub temperature_c: f64,
    /// Reach in ms; `None` gives the anchor what it needs.
    pub reach_ms: Option<f64>,
}

/// The part of a take that is measured, seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Where it begins.
    pub from_s: f64,
    /// Where it ends; infinite: at the end.
    pub to_s: f64,
}

/// What the first pass knows.
pub struct Measured {
    /// One for each spot in their order; a single one when there is no spot.
    pub found: Vec<Found>,
    /// The state of the instance with the first spot, as a host would save it.
    pub state: Vec<u8>,
    /// Seconds of the take.
    pub length_s: f64,
}

/// One spot's instance and what is known from it.
struct Listener {
    instance: Instance,
    found: Found,
}

/// A session as an offline render opens it.
pub fn session(sample_rate: u32, spot_channels: Option<usize>) -> Session {
    let layout = match spot_channels {
        None => Layout::Stereo,
        Some(1) => Layout::StereoSpotMono,
        Some(_) => Layout::StereoSpotStereo,
    };
    Session {
        sample_rate: f64::from(sample_rate),
        max_block: BLOCK as u32,
        layout,
        offline: true,
    }
}

/// Sets the choices that both passes share.
pub fn prepare(instance: &mut Instance, settings: &Settings) -> anyhow::Result<()> {
    instance.set_text("anchor", &format!("{:?}", settings.anchor))?;
    instance.set_text("match", &format!("{:?}", settings.target))?;
    instance.set("amount", settings.amount)?;
    instance.set("temperature", settings.temperature_c)
}

/// Plays the range to the plugin and collects what it says.
pub fn measure(
    bundle: &Bundle,
    files: &TakeFiles,
    range: Range,
    settings: &Settings,
) -> Outcome<Measured> {
    let mut take = Take::open(files)?;
    let mut listeners = listeners(bundle, &take, settings)?;
    let (mut block, mut peaks) = (take.block(), Peaks::default());
    let rate = f64::from(take.sample_rate());
    let bar = progress::bar("measuring", take.frames());
    let (mut at, mut looked_s) = (0, 0.0);
    while take.read(&mut block)? {
        bar.inc(block.frames() as u64);
        let heard = range.cut(&block, at, rate);
        at += block.frames() as u64;
        peaks.hear(&block);
        listeners
            .iter_mut()
            .enumerate()
            .try_for_each(|(spot, listener)| listener.hear(&block, spot, heard.clone()))?;
        if at as f64 / rate >= looked_s + LOOK_S {
            looked_s = at as f64 / rate;
            listeners.iter_mut().try_for_each(Listener::look)?;
        }
    }
    bar.finish_and_clear();
    peaks.check(files)?;
    for (spot, listener) in listeners.iter_mut().enumerate() {
        listener.finish(&mut block, spot, rate)?;
    }
    let state = listeners[0].instance.save()?;
    let found: Vec<Found> = listeners
        .into_iter()
        .map(|listener| listener.found.started_earlier(range.from_s))
        .collect();
    check_found(&found[0])?;
    Ok(Measured {
        found,
        state,
        length_s: at as f64 / rate,
    })
}

fn listeners(bundle: &Bundle, take: &Take, settings: &Settings) -> Outcome<Vec<Listener>> {
    let spots: Vec<Option<usize>> = match take.spot_channels().as_slice() {
        [] => vec![None],
        spots => spots.iter().copied().map(Some).collect(),
    };
    let open = |spot| -> Outcome<Listener> {
        let mut instance = bundle.open(&session(take.sample_rate(), spot))?;
        prepare(&mut instance, settings)?;
        instance.set("measure", 1.0)?;
        Ok(Listener {
            instance,
            found: Found::default(),
        })
    };
    spots.into_iter().map(open).collect()
}

impl Listener {
    fn hear(&mut self, block: &TakeBlock, spot: usize, part: std::ops::Range<usize>) -> Outcome {
        let [mut first, mut second] =
            [0, 1].map(|channel: usize| block.pair[channel][part.clone()].to_vec());
        let spot: Vec<&[f32]> = block
            .spots
            .get(spot)
            .into_iter()
            .flatten()
            .map(|channel| &channel[part.clone()])
            .collect();
        Ok(self
            .instance
            .process(&mut [&mut first, &mut second], &spot)?)
    }

    fn look(&mut self) -> Outcome {
        if let Some(saved) = self.instance.measurement()? {
            self.found.update(&saved);
        }
        Ok(())
    }

    /// Lets the last hit ring out, stops measuring, and looks once more.
    fn finish(&mut self, block: &mut TakeBlock, spot: usize, rate: f64) -> Outcome {
        block.silence(BLOCK);
        for _ in 0..(AFTER_S * rate / BLOCK as f64).ceil() as usize {
            self.hear(block, spot, 0..BLOCK)?;
        }
        self.instance.set("measure", 0.0)?;
        self.hear(block, spot, 0..BLOCK)?;
        self.look()
    }
}

impl Range {
    /// The whole take.
    pub const ALL: Self = Self {
        from_s: 0.0,
        to_s: f64::INFINITY,
    };

    /// The part of a block that begins at frame `at` which lies inside.
    fn cut(&self, block: &TakeBlock, at: u64, rate: f64) -> std::ops::Range<usize> {
        let place = |seconds: f64| {
            (seconds * rate - at as f64)
                .clamp(0.0, block.frames() as f64)
                .round() as usize
        };
        place(self.from_s)..place(self.to_s)
    }
}

/// Highest sample of each channel.
#[derive(Default)]
struct Peaks {
    pair: [f32; 2],
    spots: Vec<f32>,
}

impl Peaks {
    fn hear(&mut self, block: &TakeBlock) {
        self.spots.resize(block.spots.len(), 0.0);
        self.pair
            .iter_mut()
            .zip(&block.pair)
            .for_each(|(peak, channel)| *peak = peak.max(highest(channel)));
        for (peak, channels) in self.spots.iter_mut().zip(&block.spots) {
            *peak = channels
                .iter()
                .fold(*peak, |peak, channel| peak.max(highest(channel)));
        }
    }

    fn check(&self, files: &TakeFiles) -> Outcome {
        for (peak, name) in self.pair.iter().zip(["first", "second"]) {
            if *peak < SILENT {
                return refuse(format!(
                    "the {name} overhead is silent: nothing can be measured; check the export"
                ));
            }
        }
        match self
            .spots
            .iter()
            .zip(&files.spots)
            .find(|(peak, _)| **peak < SILENT)
        {
            Some((_, path)) => refuse(format!(
                "the spot {} is silent: check the export, or leave it out",
                path.display()
            )),
            None => Ok(()),
        }
    }
}

fn highest(samples: &[f32]) -> f32 {
    samples
        .iter()
        .fold(0.0, |peak, sample| peak.max(sample.abs()))
}

/// No hit, no answer: says why.
fn check_found(found: &Found) -> Outcome {
    if found.hits > 0 && found.gap.is_some() {
        return Ok(());
    }
    let refused = found.refused;
    let words = refused_words(&refused).unwrap_or_default();
    Err(Failure::Input(match refused.total() {
        0 => "no hits were found: give the close microphone of a drum that is played as --spot, or another --from and \
              --to"
            .to_owned(),
        all if all == refused.clipped => format!(
            "all {all} hits are clipped: a clipped wavefront has no clean edge to measure; use a spot or a part of the \
             take that does not touch full scale"
        ),
        _ => format!("no hit could be used ({words}): try a part where the drum plays alone, with --from and --to"),
    }))
}
