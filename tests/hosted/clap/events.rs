//! Events as a CLAP host hands them over, right ones and wrong ones.

use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_MOD, CLAP_EVENT_PARAM_VALUE, CLAP_EVENT_TRANSPORT,
    clap_event_header, clap_event_param_mod, clap_event_param_value, clap_event_transport,
    clap_input_events,
};
use std::ptr::{from_ref, null, null_mut};

/// One event.
#[derive(Clone, Copy)]
pub enum Event {
    Value(clap_event_param_value),
    Offset(clap_event_param_mod),
    Place(clap_event_transport),
    /// A list that says there is one and hands over none.
    Null,
}

fn header(time: u32, kind: u16, size: usize) -> clap_event_header {
    clap_event_header {
        size: size as u32,
        time,
        space_id: CLAP_CORE_EVENT_SPACE_ID,
        type_: kind,
        flags: 0,
    }
}

impl Event {
    /// A parameter's value, as the format counts it.
    pub fn value(time: u32, param_id: u32, value: f64) -> Self {
        Self::Value(clap_event_param_value {
            header: header(
                time,
                CLAP_EVENT_PARAM_VALUE,
                size_of::<clap_event_param_value>(),
            ),
            param_id,
            cookie: null_mut(),
            note_id: -1,
            port_index: -1,
            channel: -1,
            key: -1,
            value,
        })
    }

    /// A parameter's modulation.
    pub fn offset(time: u32, param_id: u32, amount: f64) -> Self {
        Self::Offset(clap_event_param_mod {
            header: header(
                time,
                CLAP_EVENT_PARAM_MOD,
                size_of::<clap_event_param_mod>(),
            ),
            param_id,
            cookie: null_mut(),
            note_id: -1,
            port_index: -1,
            channel: -1,
            key: -1,
            amount,
        })
    }

    /// The transport is somewhere else from here on.
    pub fn place(time: u32, transport: clap_event_transport) -> Self {
        Self::Place(clap_event_transport {
            header: header(
                time,
                CLAP_EVENT_TRANSPORT,
                size_of::<clap_event_transport>(),
            ),
            ..transport
        })
    }

    /// The header, to be spoilt.
    pub fn header_mut(&mut self) -> Option<&mut clap_event_header> {
        match self {
            Self::Value(event) => Some(&mut event.header),
            Self::Offset(event) => Some(&mut event.header),
            Self::Place(event) => Some(&mut event.header),
            Self::Null => None,
        }
    }

    fn pointer(&self) -> *const clap_event_header {
        match self {
            Self::Value(event) => &event.header,
            Self::Offset(event) => &event.header,
            Self::Place(event) => &event.header,
            Self::Null => null(),
        }
    }
}

/// A list of them for the plugin; the slice must outlive it.
pub fn list(events: &Vec<Event>) -> clap_input_events {
    clap_input_events {
        ctx: from_ref(events).cast_mut().cast(),
        size: Some(size),
        get: Some(get),
    }
}

unsafe extern "C" fn size(list: *const clap_input_events) -> u32 {
    // SAFETY: made by `list`.
    unsafe { (*(*list).ctx.cast::<Vec<Event>>()).len() as u32 }
}

unsafe extern "C" fn get(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: made by `list`.
    let events = unsafe { &*(*list).ctx.cast::<Vec<Event>>() };
    events.get(index as usize).map_or(null(), Event::pointer)
}
