//! Between the values that a CLAP host sees, in the parameters' units, and the framework's own.
//!
//! The framework counts a continuous parameter from 0 to 1 and a choice by its steps.

use crate::guard::parameters::Parameters;
use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_VALUE, clap_event_header, clap_event_param_value,
    clap_output_events,
};
use std::ptr::{from_ref, null};

/// The framework's value of a plain one.
pub(super) fn inner(parameters: &Parameters, number: u32, plain: f64) -> Option<f64> {
    let index = parameters.index(number)?;
    let normalized = parameters.normalized(index, plain)?;
    Some(f64::from(normalized) * parameters.steps(index).unwrap_or(1) as f64)
}

/// The plain value of one of the framework's.
pub(super) fn outer(parameters: &Parameters, number: u32, value: f64) -> Option<f64> {
    let index = parameters.index(number)?;
    let normalized = value / parameters.steps(index).unwrap_or(1).max(1) as f64;
    parameters.plain(index, normalized as f32)
}

/// The host's list of events from the plugin, for a framework that writes its own values.
pub(super) struct Scaled<'a> {
    parameters: &'a Parameters,
    host: *const clap_output_events,
}

impl<'a> Scaled<'a> {
    /// `host` is null or the host's list, for as long as this is lent.
    pub fn new(parameters: &'a Parameters, host: *const clap_output_events) -> Self {
        Self { parameters, host }
    }

    /// Lends a list in the place of the host's; null where there is none.
    pub fn lend<R>(&self, work: impl FnOnce(*const clap_output_events) -> R) -> R {
        let list = clap_output_events {
            ctx: from_ref(self).cast_mut().cast(),
            try_push: Some(try_push),
        };
        match self.host.is_null() {
            true => work(null()),
            false => work(&list),
        }
    }
}

unsafe extern "C" fn try_push(
    list: *const clap_output_events,
    event: *const clap_event_header,
) -> bool {
    // SAFETY: made by `lend`; the host's list is alive meanwhile.
    let (scaled, host) = unsafe {
        let scaled = &*(*list).ctx.cast::<Scaled<'_>>();
        (scaled, &*scaled.host)
    };
    let Some(push) = host.try_push else {
        return false;
    };
    // SAFETY: an event of the size that it says.
    unsafe {
        let header = &*event;
        let size = size_of::<clap_event_param_value>();
        let value =
            (header.space_id, header.type_) == (CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_VALUE);
        if !value || (header.size as usize) < size {
            return push(host, event);
        }
        let mut event = *event.cast::<clap_event_param_value>();
        let plain = outer(scaled.parameters, event.param_id, event.value);
        event.value = plain.unwrap_or(event.value);
        push(host, &event.header)
    }
}
