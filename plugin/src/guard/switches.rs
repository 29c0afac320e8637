//! Which buses the host has switched on: what comes in on one that is off is silence, whatever the host hands over.

use std::sync::atomic::{AtomicU8, Ordering::Relaxed};

/// One of the plugin's buses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bus {
    MainIn,
    Spot,
    MainOut,
}

impl Bus {
    /// The bus of this index among the inputs or the outputs.
    pub fn of(is_input: bool, index: u32) -> Option<Self> {
        match (is_input, index) {
            (true, 0) => Some(Self::MainIn),
            (true, 1) => Some(Self::Spot),
            (false, 0) => Some(Self::MainOut),
            _ => None,
        }
    }

    fn bit(self) -> u8 {
        1 << self as u8
    }
}

/// Of one instance. Any thread may switch; a block sees it from its start on. A host that never switches has all on.
#[derive(Debug, Default)]
pub struct Switches {
    /// A bit each.
    off: AtomicU8,
}

impl Switches {
    /// Switches one bus on or off.
    pub fn set(&self, bus: Bus, on: bool) {
        match on {
            true => self.off.fetch_and(!bus.bit(), Relaxed),
            false => self.off.fetch_or(bus.bit(), Relaxed),
        };
    }

    /// Switches all on: another layout has other buses.
    pub fn all_on(&self) {
        self.off.store(0, Relaxed);
    }

    /// True for a bus that is on.
    pub fn is_on(&self, bus: Bus) -> bool {
        self.off.load(Relaxed) & bus.bit() == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_bus_is_switched_alone() {
        let switches = Switches::default();
        let buses = [Bus::MainIn, Bus::Spot, Bus::MainOut];
        for off in buses {
            switches.set(off, false);
            switches.set(off, false);
            for bus in buses {
                assert_eq!(switches.is_on(bus), bus != off);
            }
            switches.set(off, true);
        }
        switches.set(Bus::Spot, false);
        switches.all_on();
        assert!(switches.is_on(Bus::Spot));
    }
}
