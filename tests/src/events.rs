//! Parameter changes that wait for the next block, as CLAP events.

use clack_host::events::event_types::ParamValueEvent;
use clack_host::prelude::*;

/// What a host must know of a parameter to set it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Parameter {
    pub number: ClapId,
    /// A choice or a switch.
    pub stepped: bool,
}

/// A parameter that changes in the next block.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Change {
    /// Sample of the block.
    pub frame: u32,
    pub parameter: ClapId,
    /// As the plugin counts it.
    pub value: f64,
}

/// What is queued, as events of a block.
pub(crate) fn events(queue: &mut Vec<Change>) -> Vec<ParamValueEvent> {
    let event = |change: Change| {
        ParamValueEvent::new(
            change.frame,
            change.parameter,
            Pckn::match_all(),
            change.value,
        )
    };
    queue.drain(..).map(event).collect()
}
