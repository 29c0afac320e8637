//! Whole buffers made of what a host hands over: what is missing is silence, what is missing to write is thrown away.

use super::switches::{Bus, Switches};
use std::ptr::null_mut;

/// Channels of the widest bus.
const WIDEST: usize = 2;

/// Channel pointers of one bus, as both formats hand them over.
#[derive(Clone, Copy)]
pub struct HostBus {
    /// `count` pointers, or null; each may be null.
    pub channels: *mut *mut f32,
    pub count: usize,
}

impl HostBus {
    /// A bus that was not handed over.
    pub const NONE: Self = Self {
        channels: null_mut(),
        count: 0,
    };

    /// As it is, or as if it had not been handed over.
    fn if_on(self, switches: &Switches, bus: Bus) -> Self {
        match switches.is_on(bus) {
            true => self,
            false => Self::NONE,
        }
    }

    /// The channel's samples, if it is there.
    ///
    /// # Safety
    ///
    /// `channels` is null or points to `count` pointers.
    unsafe fn channel(self, index: usize) -> Option<*mut f32> {
        if self.channels.is_null() || index >= self.count {
            return None;
        }
        // SAFETY: within `count`.
        let channel = unsafe { *self.channels.add(index) };
        (!channel.is_null()).then_some(channel)
    }
}

/// The buses of one block as the host hands them over.
#[derive(Clone, Copy)]
pub struct HostBuses {
    pub main: HostBus,
    pub spot: HostBus,
    pub out: HostBus,
}

/// Channels of the buses that the framework expects.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Buses {
    pub main: usize,
    pub spot: usize,
}

/// Replacements for one instance, as long as its longest block.
pub struct Spare {
    buses: Buses,
    /// Read, never written.
    silence: Vec<f32>,
    /// Written, never read; one a channel, as a host's channels are never one and the same.
    drain: [Vec<f32>; WIDEST],
    /// A stereo spot for a mono bus.
    mix: Vec<f32>,
    main_in: [*mut f32; WIDEST],
    spot_in: [*mut f32; WIDEST],
    main_out: [*mut f32; WIDEST],
}

impl Spare {
    /// Allocates for blocks of at most `longest` samples.
    pub fn new(buses: Buses, longest: usize) -> Self {
        Self {
            buses,
            silence: vec![0.0; longest],
            drain: [vec![0.0; longest], vec![0.0; longest]],
            mix: vec![0.0; longest],
            main_in: [null_mut(); WIDEST],
            spot_in: [null_mut(); WIDEST],
            main_out: [null_mut(); WIDEST],
        }
    }

    /// Most samples that a block may have.
    pub fn longest(&self) -> usize {
        self.silence.len()
    }

    /// What the framework expects.
    pub fn buses(&self) -> Buses {
        self.buses
    }

    /// Main input, spot and output, whole; a bus that is off is as if it had not been handed over.
    ///
    /// # Safety
    ///
    /// `host` points to what its fields say, its channels to `frames` samples, at most the longest block.
    pub unsafe fn whole(
        &mut self,
        host: HostBuses,
        switches: &Switches,
        frames: usize,
    ) -> [*mut *mut f32; 3] {
        // SAFETY: as promised by the caller.
        unsafe {
            [
                self.main_in(host.main.if_on(switches, Bus::MainIn)),
                self.spot_in(host.spot.if_on(switches, Bus::Spot), frames),
                self.main_out(host.out.if_on(switches, Bus::MainOut)),
            ]
        }
    }

    /// A whole main input.
    ///
    /// # Safety
    ///
    /// `host` points to what its fields say.
    unsafe fn main_in(&mut self, host: HostBus) -> *mut *mut f32 {
        let silence = self.silence.as_mut_ptr();
        for (index, channel) in self.main_in[..self.buses.main].iter_mut().enumerate() {
            // SAFETY: as promised by the caller.
            *channel = unsafe { host.channel(index) }.unwrap_or(silence);
        }
        self.main_in.as_mut_ptr()
    }

    /// A whole main output.
    ///
    /// # Safety
    ///
    /// `host` points to what its fields say.
    unsafe fn main_out(&mut self, host: HostBus) -> *mut *mut f32 {
        let channels = self.main_out[..self.buses.main].iter_mut();
        for (index, (channel, drain)) in channels.zip(&mut self.drain).enumerate() {
            // SAFETY: as promised by the caller.
            *channel = unsafe { host.channel(index) }.unwrap_or(drain.as_mut_ptr());
        }
        self.main_out.as_mut_ptr()
    }

    /// A whole spot. One channel serves a stereo bus twice; two channels are mixed for a mono bus.
    ///
    /// # Safety
    ///
    /// `host` points to what its fields say, its channels to `frames` samples, at most the longest block.
    unsafe fn spot_in(&mut self, host: HostBus, frames: usize) -> *mut *mut f32 {
        // SAFETY: as promised by the caller.
        let (left, right) = unsafe { (host.channel(0), host.channel(1)) };
        let silence = self.silence.as_mut_ptr();
        self.spot_in = match (left, right, self.buses.spot) {
            // SAFETY: as promised by the caller.
            (Some(left), Some(right), 1) => [unsafe { self.mix(left, right, frames) }, silence],
            (Some(left), Some(right), _) => [left, right],
            (Some(only), None, _) | (None, Some(only), _) => [only, only],
            (None, None, _) => [silence, silence],
        };
        self.spot_in.as_mut_ptr()
    }

    /// # Safety
    ///
    /// Both point to `frames` samples, at most the longest block.
    unsafe fn mix(&mut self, left: *const f32, right: *const f32, frames: usize) -> *mut f32 {
        for (index, mix) in self.mix[..frames].iter_mut().enumerate() {
            // SAFETY: within `frames`.
            *mix = unsafe { 0.5 * *left.add(index) + 0.5 * *right.add(index) };
        }
        self.mix.as_mut_ptr()
    }
}

/// Silences what can be written of an output that cannot be worked on.
///
/// # Safety
///
/// `host` points to what its fields say, its channels to `frames` samples.
pub unsafe fn silence(host: HostBus, frames: usize) {
    for index in 0..host.count {
        // SAFETY: as promised by the caller.
        if let Some(channel) = unsafe { host.channel(index) } {
            // SAFETY: `frames` samples belong to the channel.
            unsafe { channel.write_bytes(0, frames) };
        }
    }
}

/// The very end of a block: an output that is on holds normal numbers and zeros alone, one that is off is silent.
///
/// # Safety
///
/// `host` points to what its fields say, its channels to `frames` samples.
pub unsafe fn finish(host: HostBus, switches: &Switches, frames: usize) {
    // SAFETY: as promised by the caller.
    unsafe {
        match switches.is_on(Bus::MainOut) {
            true => clean(host, frames),
            false => silence(host, frames),
        }
    }
}

/// The very end of the path: what is not a normal number becomes zero, subnormal ones too, as they cost a host dearly.
///
/// # Safety
///
/// `host` points to what its fields say, its channels to `frames` samples.
unsafe fn clean(host: HostBus, frames: usize) {
    for index in 0..host.count {
        // SAFETY: as promised by the caller.
        if let Some(channel) = unsafe { host.channel(index) } {
            // SAFETY: `frames` samples belong to the channel.
            let samples = unsafe { std::slice::from_raw_parts_mut(channel, frames) };
            for sample in samples {
                // `is_normal` as two comparisons, which are made for many samples at once.
                let is_normal = (f32::MIN_POSITIVE..f32::INFINITY).contains(&sample.abs());
                *sample = if is_normal { *sample } else { 0.0 };
            }
        }
    }
}

/// Channels from a later sample on.
///
/// # Safety
///
/// Every channel of `channels` that is there has more than `frames` samples.
pub unsafe fn later(channels: *mut *mut f32, count: usize, frames: usize) -> [*mut f32; WIDEST] {
    std::array::from_fn(|index| match index < count {
        // SAFETY: as promised by the caller.
        true => unsafe { (*channels.add(index)).add(frames) },
        false => null_mut(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAMES: usize = 4;

    fn read(channels: *mut *mut f32, index: usize) -> [f32; FRAMES] {
        // SAFETY: every pointer that `Spare` gives out has at least the longest block behind it.
        unsafe { *(*channels.add(index)).cast::<[f32; FRAMES]>() }
    }

    #[test]
    fn what_is_missing_is_silence_and_what_is_there_is_passed_on() {
        let mut spare = Spare::new(Buses { main: 2, spot: 2 }, FRAMES);
        let mut left = [1.0; FRAMES];
        let mut channels = [left.as_mut_ptr(), null_mut()];
        let short = HostBus {
            channels: channels.as_mut_ptr(),
            count: 1,
        };
        let null = HostBus { count: 2, ..short };
        for bus in [short, null] {
            // SAFETY: `bus` describes `channels`.
            let (main, spot) = unsafe { (spare.main_in(bus), spare.spot_in(bus, FRAMES)) };
            assert_eq!(
                [read(main, 0), read(main, 1)],
                [[1.0; FRAMES], [0.0; FRAMES]]
            );
            assert_eq!([read(spot, 0), read(spot, 1)], [[1.0; FRAMES]; 2]);
        }
        // SAFETY: nothing is described.
        let spot = unsafe { spare.spot_in(HostBus::NONE, FRAMES) };
        assert_eq!(read(spot, 0), [0.0; FRAMES]);
    }

    #[test]
    fn a_stereo_spot_is_mixed_for_a_mono_bus() {
        let mut spare = Spare::new(Buses { main: 2, spot: 1 }, FRAMES);
        let (mut left, mut right) = ([1.0; FRAMES], [0.5; FRAMES]);
        let mut channels = [left.as_mut_ptr(), right.as_mut_ptr()];
        let bus = HostBus {
            channels: channels.as_mut_ptr(),
            count: 2,
        };
        // SAFETY: `bus` describes `channels`.
        let spot = unsafe { spare.spot_in(bus, FRAMES) };
        assert_eq!(read(spot, 0), [0.75; FRAMES]);
    }

    #[test]
    fn outputs_that_are_not_there_do_not_share_memory() {
        let mut spare = Spare::new(Buses { main: 2, spot: 0 }, FRAMES);
        // SAFETY: nothing is described.
        let out = unsafe { spare.main_out(HostBus::NONE) };
        // SAFETY: two channels.
        let (left, right) = unsafe { (*out, *out.add(1)) };
        assert_ne!(left, right);
    }

    #[test]
    fn what_is_not_a_normal_number_leaves_as_zero() {
        let mut samples = [1e-40, f32::NAN, f32::NEG_INFINITY, -0.5];
        let mut channels = [samples.as_mut_ptr(), null_mut()];
        let bus = HostBus {
            channels: channels.as_mut_ptr(),
            count: 2,
        };
        // SAFETY: `bus` describes `channels`.
        unsafe { clean(bus, FRAMES) };
        assert_eq!(samples, [0.0, 0.0, 0.0, -0.5]);
    }

    #[test]
    fn an_output_that_is_not_there_goes_down_the_drain() {
        let mut spare = Spare::new(Buses { main: 2, spot: 0 }, FRAMES);
        // SAFETY: nothing is described.
        let out = unsafe { spare.main_out(HostBus::NONE) };
        // SAFETY: the drain is as long as the longest block.
        unsafe { *(*out).add(FRAMES - 1) = 1.0 };
        // SAFETY: nothing is described.
        let main = unsafe { spare.main_in(HostBus::NONE) };
        assert_eq!(read(main, 0), [0.0; FRAMES]);
    }
}
