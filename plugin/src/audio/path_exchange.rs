//! Exchanges the running audio path for one of another latency, for hosts that never restart the plugin for it.
//!
//! Requests go from the audio thread to a background thread and processors come back, through a triple buffer and two
//! rings; what has been replaced goes the same way, to be dropped there.

use super::processor::Processor;
use super::setup::Setup;
use crate::analysis::{MeasurementFeed, Route};
use crate::exchange::{Call, Telemetry, TripleBufferReader, TripleBufferWriter, triple_buffer};
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;

/// The audio thread's end.
pub struct PathExchange {
    requests: TripleBufferWriter<Option<Setup>>,
    built: Consumer<Box<Processor>>,
    replaced: Producer<Box<Processor>>,
    /// One request at a time, so that the rings never fill.
    waiting: bool,
    call: Call,
}

/// The background thread's end.
pub struct PathBuilder {
    requests: TripleBufferReader<Option<Setup>>,
    built: Producer<Box<Processor>>,
    replaced: Consumer<Box<Processor>>,
    telemetry: Arc<Telemetry>,
}

/// Both ends, for one activation. The audio thread's end calls the other.
pub fn path_exchange(call: Call, telemetry: Arc<Telemetry>) -> (PathExchange, PathBuilder) {
    let (requests, requests_out) = triple_buffer();
    let (built, built_out) = RingBuffer::new(1);
    let (replaced, replaced_out) = RingBuffer::new(1);
    let exchange = PathExchange {
        requests,
        built: built_out,
        replaced,
        waiting: false,
        call,
    };
    let builder = PathBuilder {
        requests: requests_out,
        built,
        replaced: replaced_out,
        telemetry,
    };
    (exchange, builder)
}

impl PathExchange {
    /// Asks for an audio path, unless one is being built.
    pub fn request(&mut self, setup: Setup) {
        if !self.waiting && !self.replaced.is_full() {
            self.requests.write(Some(setup));
            self.waiting = true;
            self.call.make();
        }
    }

    /// True when there is something to exchange.
    pub fn is_ready(&self) -> bool {
        !self.built.is_empty()
    }

    /// Puts what has been built in the place of what works now; true when there was something.
    pub fn swap(&mut self, working: &mut Box<Processor>) -> bool {
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
        self.call.make();
        true
    }
}

impl PathBuilder {
    /// Builds what is requested and drops what is replaced.
    pub fn work(&mut self) {
        while self.replaced.pop().is_ok() {}
        let request = self.requests.take().copied().flatten();
        if let Some(setup) = request {
            let feed = MeasurementFeed::new(Route::Closed);
            let processor = Processor::new(setup, feed, Arc::clone(&self.telemetry));
            let _ = self.built.push(Box::new(processor));
        }
    }
}
