//! Events from the plugin's own controls to the host: a gesture begins, values follow, it ends.

use crate::instance::Instance;
use clack_host::events::spaces::CoreEventSpace;
use clack_host::prelude::*;

/// One event about a parameter, by its number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gesture {
    Begin(u32),
    Value(u32, f64),
    End(u32),
}

impl Instance {
    /// The events of the blocks since the last call, in order.
    pub fn gestures(&mut self) -> Vec<Gesture> {
        let events = self.output_events.iter().filter_map(gesture).collect();
        self.output_events.clear();
        events
    }
}

fn gesture(event: &UnknownEvent) -> Option<Gesture> {
    Some(match event.as_core_event()? {
        CoreEventSpace::ParamGestureBegin(event) => Gesture::Begin(event.param_id()?.get()),
        CoreEventSpace::ParamValue(event) => Gesture::Value(event.param_id()?.get(), event.value()),
        CoreEventSpace::ParamGestureEnd(event) => Gesture::End(event.param_id()?.get()),
        _ => return None,
    })
}
