//! The audio of a case: made up before a block, judged after it.

use super::case::{Bus, Play, Sound};
use fastrand::Rng;
use std::ptr::null_mut;

/// A tone of + 200 dB is the loudest that the plugin takes for audio; two of them and 12 dB of output on top.
const LOUDEST: f32 = 1e12;

/// The channels of one block.
pub struct Audio {
    pub input: [Vec<f32>; 2],
    pub spot: [Vec<f32>; 2],
    pub output: [Vec<f32>; 2],
}

impl Audio {
    pub fn new(play: &Play) -> Self {
        let mut random = Rng::with_seed(play.seed);
        let mut channel = || {
            let mut sample = || match play.sound {
                Sound::Noise(peak) => (2.0 * random.f32() - 1.0) * peak,
                Sound::Constant(number) => number,
            };
            (0..play.frames).map(|_| sample()).collect::<Vec<_>>()
        };
        let silence = vec![0.0; play.frames];
        Self {
            input: [channel(), channel()],
            spot: [channel(), channel()],
            output: [silence.clone(), silence],
        }
    }

    /// What the plugin did wrong in the channels of the output that were handed over.
    pub fn judged(&self) -> Result<(), String> {
        for (channel, samples) in self.output.iter().enumerate() {
            let wrong = |x: &f32| !(*x == 0.0 || x.is_normal()) || x.abs() > LOUDEST;
            if let Some(at) = samples.iter().position(wrong) {
                return Err(format!(
                    "channel {channel} sample {at} is {:e}",
                    samples[at]
                ));
            }
        }
        Ok(())
    }
}

impl Audio {
    /// The same of an output that is switched off.
    pub fn judged_silent(&self) -> Result<(), String> {
        let loud = |samples: &Vec<f32>| samples.iter().any(|x| *x != 0.0);
        match self.output.iter().any(loud) {
            true => Err("an output that is off is not silent".into()),
            false => Ok(()),
        }
    }
}

/// Channel pointers as a bus hands them over; `None` when there is no bus at all.
pub fn pointers(bus: Bus, channels: &mut [Vec<f32>; 2]) -> Option<Vec<*mut f32>> {
    let whole = channels.each_mut().map(|c| c.as_mut_ptr());
    match bus {
        Bus::Whole => Some(whole.to_vec()),
        Bus::OneChannel => Some(vec![whole[0]]),
        Bus::NullChannels => Some(vec![null_mut(), whole[1]]),
        Bus::NullArray => Some(vec![]),
        Bus::LeftOut => None,
    }
}
