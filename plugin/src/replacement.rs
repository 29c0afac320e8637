//! The audio path of a new latency, built beside the audio thread for hosts that never restart the plugin for it.
//!
//! Orders go from the audio thread to the plugin's own thread and processors come back, through a slot and two rings;
//! what has been replaced goes the same way, to be dropped there.

use crate::ears::{Ears, Hearing};
use crate::processor::Processor;
use crate::setup::Setup;
use crate::telemetry::{SlotReader, SlotWriter, Telemetry, slot};
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;

/// The audio thread's end.
pub struct Orders {
    order: SlotWriter<Option<Setup>>,
    built: Consumer<Box<Processor>>,
    replaced: Producer<Box<Processor>>,
    /// One order at a time, so that the rings never fill.
    waiting: bool,
}

/// The other thread's end.
pub struct Workshop {
    orders: SlotReader<Option<Setup>>,
    built: Producer<Box<Processor>>,
    replaced: Consumer<Box<Processor>>,
    telemetry: Arc<Telemetry>,
}

/// Both ends, for one activation.
pub fn orders(telemetry: Arc<Telemetry>) -> (Orders, Workshop) {
    let (order, orders) = slot();
    let (built, built_out) = RingBuffer::new(1);
    let (replaced, replaced_out) = RingBuffer::new(1);
    let audio = Orders {
        order,
        built: built_out,
        replaced,
        waiting: false,
    };
    let workshop = Workshop {
        orders,
        built,
        replaced: replaced_out,
        telemetry,
    };
    (audio, workshop)
}

impl Orders {
    /// Asks for an audio path, unless one is being built.
    pub fn order(&mut self, setup: Setup) {
        if !self.waiting && !self.replaced.is_full() {
            self.order.write(Some(setup));
            self.waiting = true;
        }
    }

    /// True when there is something to exchange.
    pub fn is_ready(&self) -> bool {
        !self.built.is_empty()
    }

    /// Puts what has been built in the place of what works now; true when there was something.
    pub fn exchange(&mut self, working: &mut Box<Processor>) -> bool {
        if self.replaced.is_full() {
            return false;
        }
        let Ok(mut built) = self.built.pop() else {
            return false;
        };
        self.waiting = false;
        built.take_over(working);
        std::mem::swap(working, &mut built);
        // There is room: nothing else fills this ring.
        let _ = self.replaced.push(built);
        true
    }
}

impl Workshop {
    /// Builds what is ordered and drops what is replaced.
    pub fn work(&mut self) {
        while self.replaced.pop().is_ok() {}
        let order = self.orders.take().copied().flatten();
        if let Some(setup) = order {
            let ears = Ears::new(Hearing::Nobody);
            let processor = Processor::new(setup, ears, Arc::clone(&self.telemetry));
            let _ = self.built.push(Box::new(processor));
        }
    }
}
