//! Audio buffers as pointers, and the kinds of side chain that hosts are known to pass.

use std::ptr::null_mut;

/// Longest block where a test does not say otherwise.
pub const BLOCK: usize = 512;

/// A pair of channels with a one at the start, and where to put the output.
pub struct Audio {
    pub input: [Vec<f32>; 2],
    /// Not silent before something is written.
    pub output: [Vec<f32>; 2],
}

impl Audio {
    pub fn impulse() -> Self {
        let mut impulse = vec![0.0; BLOCK];
        impulse[0] = 1.0;
        Self {
            input: [impulse.clone(), impulse],
            output: [vec![7.0; BLOCK], vec![7.0; BLOCK]],
        }
    }

    pub fn silence() -> Self {
        Self {
            input: [vec![0.0; BLOCK], vec![0.0; BLOCK]],
            ..Self::impulse()
        }
    }

    /// Main input and spot, one of them struck.
    pub fn strike(on_spot: bool) -> [Self; 2] {
        match on_spot {
            true => [Self::silence(), Self::impulse()],
            false => [Self::impulse(), Self::silence()],
        }
    }

    pub fn inputs(&mut self) -> [*mut f32; 2] {
        self.input.each_mut().map(|c| c.as_mut_ptr())
    }

    pub fn outputs(&mut self) -> [*mut f32; 2] {
        self.output.each_mut().map(|c| c.as_mut_ptr())
    }

    /// Where a channel of the output is not silent.
    pub fn nonzero(&self, channel: usize) -> Vec<usize> {
        let channel = &self.output[channel];
        (0..channel.len()).filter(|&n| channel[n] != 0.0).collect()
    }

    /// The impulse has arrived in both channels, and nothing else.
    pub fn check(&self, latency: u32, case: &str) {
        for channel in 0..2 {
            assert_eq!(self.nonzero(channel), [latency as usize], "{case}");
        }
    }
}

/// What a side chain of two channels may point to; `None` is one that is left out.
pub fn side_chains(left: *mut f32, right: *mut f32) -> [(&'static str, Option<Vec<*mut f32>>); 6] {
    let null = null_mut();
    [
        ("whole", Some(vec![left, right])),
        ("short", Some(vec![left])),
        ("empty", Some(vec![])),
        ("second channel null", Some(vec![left, null])),
        ("both channels null", Some(vec![null, null])),
        ("left out", None),
    ]
}
