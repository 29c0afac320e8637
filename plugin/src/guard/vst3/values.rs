//! The parameters as the two halves of a VST3 see them: what a block carries counts, what the controller is told is kept.
//!
//! A host tells a new value to both halves, to the processor with a block and to the controller at once; it also shows
//! the controller every automated value, a little later. So while blocks run, the controller's value is shown and saved,
//! and it is heard only where no block has named the parameter: an echo of the automation must not undo it.

use crate::guard::parameters::Parameters;
use std::sync::atomic::{
    AtomicBool, AtomicU64,
    Ordering::{AcqRel, Acquire, Relaxed, Release},
};

/// All of one instance.
pub(super) struct Values {
    pub parameters: Parameters,
    seats: Vec<Seat>,
    /// The controller has been told something since the last block.
    told: AtomicBool,
    /// Blocks may come: `setProcessing`.
    processing: AtomicBool,
}

/// One parameter.
#[derive(Default)]
struct Seat {
    /// A block has named it since processing began.
    automated: AtomicBool,
    /// The bits of the `f64` that the controller was told last.
    told: AtomicU64,
    /// No block has named it or taken it over since.
    shows_told: AtomicBool,
}

impl Values {
    pub fn new(parameters: Parameters) -> Self {
        let seats = (0..parameters.count()).map(|_| Seat::default()).collect();
        Self {
            parameters,
            seats,
            told: AtomicBool::new(false),
            processing: AtomicBool::new(false),
        }
    }

    /// The host's `setProcessing`: afterwards nothing is automated, and what the controller was told counts.
    pub fn set_processing(&self, processing: bool) {
        self.processing.store(processing, Release);
        self.settle();
        for seat in &self.seats {
            seat.automated.store(false, Relaxed);
        }
    }

    /// The controller is told a value between 0 and 1. False for a parameter that there is not.
    pub fn tell(&self, number: u32, normalized: f64) -> bool {
        let Some(index) = self.parameters.index(number) else {
            return false;
        };
        if !normalized.is_finite() {
            return false;
        }
        if !self.processing.load(Acquire) {
            self.seats[index].shows_told.store(false, Release);
            self.parameters.set(index, normalized as f32);
            return true;
        }
        let seat = &self.seats[index];
        seat.told
            .store(normalized.clamp(0.0, 1.0).to_bits(), Relaxed);
        seat.shows_told.store(true, Release);
        self.told.store(true, Release);
        true
    }

    /// What the controller says when it is asked.
    pub fn shown(&self, number: u32) -> Option<f64> {
        let index = self.parameters.index(number)?;
        let told = self.seats[index].told();
        told.or_else(|| self.parameters.value(index).map(f64::from))
    }

    /// At the start of a block: takes over what the controller was told of parameters that are not automated. Wait-free.
    pub fn begin_block(&self) {
        if !self.told.swap(false, AcqRel) {
            return;
        }
        for (index, seat) in self.seats.iter().enumerate() {
            if !seat.automated.load(Relaxed) {
                self.take_over(index, seat);
            }
        }
    }

    /// A block names a value. True when it is another one than before. Wait-free.
    pub fn automate(&self, index: usize, normalized: f64) -> bool {
        if let Some(seat) = self.seats.get(index) {
            seat.automated.store(true, Relaxed);
            seat.shows_told.store(false, Release);
        }
        self.parameters.set(index, normalized as f32)
    }

    /// Makes everything count that the controller was told: before a state is saved, and when processing begins or ends.
    pub fn settle(&self) {
        for (index, seat) in self.seats.iter().enumerate() {
            self.take_over(index, seat);
        }
    }

    /// Forgets what the controller was told: a state has been loaded.
    pub fn forget(&self) {
        for seat in &self.seats {
            seat.shows_told.store(false, Release);
        }
    }

    fn take_over(&self, index: usize, seat: &Seat) {
        if let Some(told) = seat.told() {
            self.parameters.set(index, told as f32);
            seat.shows_told.store(false, Release);
        }
    }
}

impl Seat {
    fn told(&self) -> Option<f64> {
        let told = f64::from_bits(self.told.load(Relaxed));
        self.shows_told.load(Acquire).then_some(told)
    }
}
