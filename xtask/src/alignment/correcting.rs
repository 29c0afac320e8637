//! The second pass: the built plugin, with the measurement in its state, corrects the take as an offline render.

use plumbline_hosting::{Applied, Bundle, Instance};

use super::hit_spectrum::HitSpectrum;
use super::hit_windows::HitWindows;
use super::latency_trim::LatencyTrim;
use super::measuring::Measurements;
use super::output_file::{OutputFile, Version, write};
use super::settings::{Settings, prepare, session};
use super::spot_file::{MovedSpot, SpotDelay, SpotFile, plan_spot};
use crate::audio::{BLOCK, Take, TakeBlock, TakeFiles};
use crate::failure::Outcome;
use crate::progress;
use crate::tape::parameters;

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
    /// The drums as the plugin saves them, with what the mono sum of each loses.
    pub drums: Vec<plumbline_hosting::Drum>,
    /// What was done to the spots.
    pub spots: Vec<MovedSpot>,
}

/// Plays the whole take through the plugin.
pub fn correct(
    bundle: &Bundle,
    files: &TakeFiles,
    settings: &Settings,
    measured: &Measurements,
    outputs: &mut [OutputFile],
    spots: Vec<SpotFile>,
) -> Outcome<Corrected> {
    let mut take = Take::open(files)?;
    let mut instance = open(bundle, &take, settings, measured)?;
    let latency = instance.latency();
    let mut print = match settings.makes_print() {
        false => None,
        true => Some(open_print(bundle, &take, settings, measured)?),
    };
    let print_latency = print.as_mut().map_or(0, |print| print.latency());
    let applied = instance.measurement()?.unwrap_or_default().applied;
    let rate = f64::from(take.sample_rate());
    let channels = take.spot_channels();
    let spots = spots.into_iter().map(|output| {
        let plan = plan_spot(&measured.spots[output.spot], settings.target, &applied);
        let channels = channels[output.spot];
        SpotDelay::new(output, plan, channels, rate)
    });
    let hits_s = measured.spots[0].own_hits_s();
    let mut pass = Pass {
        trim: LatencyTrim::new(latency as usize),
        print_trim: LatencyTrim::new(print_latency as usize),
        print: print.as_mut(),
        before: HitMeter::new(f64::from(take.sample_rate()), &hits_s),
        after: HitMeter::new(f64::from(take.sample_rate()), &hits_s),
        instance: &mut instance,
        outputs,
        spots: spots.collect(),
    };
    pass.play(&mut take)?;
    let spots = pass.spots.into_iter().map(SpotDelay::finish);
    let spots = spots.collect::<Outcome<Vec<MovedSpot>>>()?;
    let (before, after) = (pass.before.spectrum, pass.after.spectrum);
    let saved = instance.measurement()?.unwrap_or_default();
    Ok(Corrected {
        before,
        after,
        applied: saved.applied,
        missing_reach_s: saved.missing_reach_s,
        latency,
        drums: saved.drums,
        spots,
    })
}

/// An instance with the measurement loaded, and the reach that it needs.
fn open(
    bundle: &Bundle,
    take: &Take,
    settings: &Settings,
    measured: &Measurements,
) -> Outcome<Instance> {
    let spot_channels = take.spot_channels().first().copied();
    let mut instance = bundle.open(&session(take.sample_rate(), spot_channels))?;
    instance.load(&measured.state)?;
    prepare(&mut instance, settings)?;
    // What the anchor lacked without any reach.
    let missing_s = measured.spots[0].missing_reach_s;
    let needed_ms = || reach_ms(missing_s, take.sample_rate());
    instance.set("reach", settings.reach_ms.unwrap_or_else(needed_ms))?;
    instance.restart()?;
    Ok(instance)
}

/// The same with the spot in the print, and the print on tape, where that is asked for.
fn open_print(
    bundle: &Bundle,
    take: &Take,
    settings: &Settings,
    measured: &Measurements,
) -> Outcome<Instance> {
    let mut instance = open(bundle, take, settings, measured)?;
    if let Some(level_db) = settings.spot_in_print_db {
        instance.set("spot_level", level_db)?;
    }
    for (id, value) in settings.tape.iter().flat_map(parameters) {
        instance.set(id, value)?;
    }
    instance.restart()?;
    Ok(instance)
}

/// The reach that is needed, up to the next whole sample.
fn reach_ms(missing_s: f64, sample_rate: u32) -> f64 {
    let rate = f64::from(sample_rate);
    ((missing_s * rate).ceil() / rate * 1e3).min(MOST_REACH_MS)
}

/// A take on its way through the plugin.
struct Pass<'a> {
    instance: &'a mut Instance,
    trim: LatencyTrim,
    /// Makes the print, where one is asked for.
    print: Option<&'a mut Instance>,
    print_trim: LatencyTrim,
    before: HitMeter,
    after: HitMeter,
    outputs: &'a mut [OutputFile],
    spots: Vec<SpotDelay>,
}

impl Pass<'_> {
    /// The take, and silence until its last sample has come out.
    fn play(&mut self, take: &mut Take) -> Outcome {
        let mut block = take.block();
        let bar = progress::bar("correcting", take.frames());
        while take.read(&mut block)? {
            bar.inc(block.frames() as u64);
            let pair = [&block.pair[0][..], &block.pair[1][..]];
            self.before.push(pair);
            write(self.outputs, Version::Before, pair)?;
            self.write_spots(&block)?;
            self.process_print(&block)?;
            self.process(&mut block)?;
        }
        self.run_out(&mut block)?;
        self.end_spots(&mut block)?;
        bar.finish_and_clear();
        Ok(())
    }

    fn write_spots(&mut self, block: &TakeBlock) -> Outcome {
        let mut spots = self.spots.iter_mut();
        spots.try_for_each(|spot| spot.write(&block.spots))
    }

    /// Silence until the last sample of every spot has come out.
    fn end_spots(&mut self, block: &mut TakeBlock) -> Outcome {
        let mut left = self.spots.iter().map(SpotDelay::latency).max().unwrap_or(0);
        while left > 0 {
            block.silence(left.min(BLOCK));
            left -= block.frames();
            self.write_spots(block)?;
        }
        Ok(())
    }

    /// Silence, until both instances have given back all of the take.
    fn run_out(&mut self, block: &mut TakeBlock) -> Outcome {
        let mut left = self.trim.latency();
        while left > 0 {
            block.silence(left.min(BLOCK));
            left -= block.frames();
            self.process(block)?;
        }
        let mut left = self.print_trim.latency();
        while left > 0 {
            block.silence(left.min(BLOCK));
            left -= block.frames();
            self.process_print(block)?;
        }
        Ok(())
    }

    /// Where a print is made.
    fn process_print(&mut self, block: &TakeBlock) -> Outcome {
        let Some(instance) = &mut self.print else {
            return Ok(());
        };
        let [mut first, mut second] = block.pair.each_ref().map(|channel| channel.to_vec());
        instance.process(&mut [&mut first, &mut second], &spot(&block.spots))?;
        let print = self.print_trim.trim([&first, &second]);
        write(self.outputs, Version::Print, print)
    }

    fn process(&mut self, block: &mut TakeBlock) -> Outcome {
        let TakeBlock { pair, spots, .. } = block;
        let [first, second] = pair;
        self.instance.process(&mut [first, second], &spot(spots))?;
        let pair = self.trim.trim([first, second]);
        self.after.push(pair);
        write(self.outputs, Version::After, pair)
    }
}

/// Channels of the spot that decides.
fn spot(spots: &[Vec<Vec<f32>>]) -> Vec<&[f32]> {
    let channels = spots.first().into_iter().flatten();
    channels.map(Vec::as_slice).collect()
}

/// Spectrum of the pair on the hits.
struct HitMeter {
    windows: HitWindows,
    spectrum: HitSpectrum,
}

impl HitMeter {
    fn new(sample_rate: f64, hits_s: &[f64]) -> Self {
        let windows = HitWindows::new(sample_rate, hits_s);
        Self {
            spectrum: HitSpectrum::new(sample_rate, windows.length()),
            windows,
        }
    }

    fn push(&mut self, pair: [&[f32]; 2]) {
        self.windows
            .push(pair, |first, second| self.spectrum.add(first, second));
    }
}
