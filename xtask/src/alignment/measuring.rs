//! The first pass: the built plugin measures a take, one instance for each spot.

use plumbline_hosting::{Bundle, Instance};

use super::names::refused_counts;
use super::settings::{Settings, prepare, session};
use super::silent_channels::Peaks;
use super::spot_measurement::SpotMeasurement;
use crate::audio::{BLOCK, Take, TakeBlock, TakeFiles};
use crate::failure::{Failure, Outcome};
use crate::progress;

/// Seconds of silence after the take, so that the window of a hit at its very end is filled.
const AFTER_S: f64 = 0.25;
/// Seconds between two readings of the plugin's log, which keeps the newest hits only.
const REPORT_EVERY_S: f64 = 1.0;

/// The part of a take that is measured, seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeRange {
    /// Where it begins.
    pub from_s: f64,
    /// Where it ends; infinite: at the end.
    pub to_s: f64,
}

/// What the first pass returns.
pub struct Measurements {
    /// One for each spot in their order; a single one when there is no spot.
    pub spots: Vec<SpotMeasurement>,
    /// The state of the instance with the first spot, as a host would save it.
    pub state: Vec<u8>,
    /// Seconds of the take.
    pub length_s: f64,
}

/// One spot's instance and what it has reported so far.
struct SpotInstance {
    instance: Instance,
    measurement: SpotMeasurement,
}

/// Plays the range through the plugin and collects what it reports.
///
/// # Errors
///
/// When a channel is silent, or when no hit could be used.
pub fn measure(
    bundle: &Bundle,
    files: &TakeFiles,
    range: TimeRange,
    settings: &Settings,
) -> Outcome<Measurements> {
    let mut take = Take::open(files)?;
    let mut instances = open_instances(bundle, &take, settings)?;
    let rate = f64::from(take.sample_rate());
    let (frames, peaks) = play(&mut take, &mut instances, range)?;
    peaks.check(files)?;
    let mut block = take.block();
    for (spot, instance) in instances.iter_mut().enumerate() {
        instance.finish(&mut block, spot, rate)?;
    }
    let state = instances[0].instance.save()?;
    let spots: Vec<SpotMeasurement> = instances
        .into_iter()
        .map(|spot| spot.measurement.started_earlier(range.from_s))
        .collect();
    check_measured(&spots[0])?;
    Ok(Measurements {
        spots,
        state,
        length_s: frames as f64 / rate,
    })
}

fn open_instances(bundle: &Bundle, take: &Take, settings: &Settings) -> Outcome<Vec<SpotInstance>> {
    let spots: Vec<Option<usize>> = match take.spot_channels().as_slice() {
        [] => vec![None],
        spots => spots.iter().copied().map(Some).collect(),
    };
    let open = |spot| -> Outcome<SpotInstance> {
        let mut instance = bundle.open(&session(take.sample_rate(), spot))?;
        prepare(&mut instance, settings)?;
        instance.set("measure", 1.0)?;
        Ok(SpotInstance {
            instance,
            measurement: SpotMeasurement::default(),
        })
    };
    spots.into_iter().map(open).collect()
}

/// Plays the take to its end; returns its frames, and the peaks of its channels.
fn play(
    take: &mut Take,
    instances: &mut [SpotInstance],
    range: TimeRange,
) -> Outcome<(u64, Peaks)> {
    let rate = f64::from(take.sample_rate());
    let bar = progress::bar("measuring", take.frames());
    let (mut block, mut peaks) = (take.block(), Peaks::default());
    let (mut at, mut reported_s) = (0, 0.0);
    while take.read(&mut block)? {
        bar.inc(block.frames() as u64);
        let part = range.cut(&block, at, rate);
        at += block.frames() as u64;
        peaks.push(&block);
        for (spot, instance) in instances.iter_mut().enumerate() {
            instance.process(&block, spot, part.clone())?;
        }
        if at as f64 / rate >= reported_s + REPORT_EVERY_S {
            reported_s = at as f64 / rate;
            instances
                .iter_mut()
                .try_for_each(SpotInstance::read_report)?;
        }
    }
    bar.finish_and_clear();
    Ok((at, peaks))
}

impl SpotInstance {
    fn process(&mut self, block: &TakeBlock, spot: usize, part: std::ops::Range<usize>) -> Outcome {
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

    fn read_report(&mut self) -> Outcome {
        if let Some(saved) = self.instance.measurement()? {
            self.measurement.update(&saved);
        }
        Ok(())
    }

    /// Plays silence until the last hit is analysed, stops measuring, and reads the report once more.
    fn finish(&mut self, block: &mut TakeBlock, spot: usize, rate: f64) -> Outcome {
        block.silence(BLOCK);
        for _ in 0..(AFTER_S * rate / BLOCK as f64).ceil() as usize {
            self.process(block, spot, 0..BLOCK)?;
        }
        self.instance.set("measure", 0.0)?;
        self.process(block, spot, 0..BLOCK)?;
        self.read_report()
    }
}

impl TimeRange {
    /// The whole take.
    pub const ALL: Self = Self {
        from_s: 0.0,
        to_s: f64::INFINITY,
    };

    /// The part of a block that begins at frame `at` which lies inside.
    fn cut(&self, block: &TakeBlock, at: u64, rate: f64) -> std::ops::Range<usize> {
        let frame = |seconds: f64| {
            (seconds * rate - at as f64)
                .clamp(0.0, block.frames() as f64)
                .round() as usize
        };
        frame(self.from_s)..frame(self.to_s)
    }
}

/// Refuses a take without a usable hit, and says why.
fn check_measured(measurement: &SpotMeasurement) -> Outcome {
    if measurement.hits > 0 && measurement.gap.is_some() {
        return Ok(());
    }
    let refused = measurement.refused;
    let counts = refused_counts(&refused).unwrap_or_default();
    Err(Failure::Input(match refused.total() {
        0 => "no hits were found: give the close microphone of a drum that is played as --spot, or another --from and \
              --to"
            .to_owned(),
        all if 2 * refused.clipped > all => format!(
            "{} of {all} hits are clipped: a clipped wavefront has no clean edge to measure; use a spot or a part of the \
             take that does not touch full scale, or lower the gain",
            refused.clipped
        ),
        _ => format!("no hit could be used ({counts}): try a part where the drum plays alone, with --from and --to"),
    }))
}
