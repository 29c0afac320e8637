//! The events of a block, taken in the order in which the host lists them.
//!
//! Hosts put events behind the end of the block and out of order; the framework reads past their buffers for it. Here a
//! time is never before the one before and never behind the last sample.

use super::song;
use crate::guard::parameters::Parameters;
use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_MOD, CLAP_EVENT_PARAM_VALUE, CLAP_EVENT_TRANSPORT,
    clap_event_header, clap_event_param_mod, clap_event_param_value, clap_event_transport,
    clap_input_events,
};

/// The walk through the events of one block.
pub(super) struct Events<'a> {
    list: Option<&'a clap_input_events>,
    parameters: &'a Parameters,
    /// Samples in the block.
    frames: usize,
    count: u32,
    read: u32,
    /// Time of the event before.
    last: usize,
    /// The host's transport, and the sample of the block that it is meant for.
    place: Option<(clap_event_transport, usize)>,
    /// A value has changed.
    news: News,
}

/// Whether the window has something new to show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum News {
    None,
    Some,
}

/// What an event asks for.
enum Asked {
    /// Parameter and value between 0 and 1.
    Value(usize, f32),
    /// Parameter and offset of that range.
    Offset(usize, f32),
    Place(clap_event_transport),
}

impl<'a> Events<'a> {
    /// # Safety
    ///
    /// `list` and `transport` are null or the host's, for as long as the walk lasts.
    pub unsafe fn new(
        list: *const clap_input_events,
        transport: *const clap_event_transport,
        frames: usize,
        parameters: &'a Parameters,
    ) -> Self {
        // SAFETY: as promised by the caller.
        let (list, transport) = unsafe { (list.as_ref(), transport.as_ref()) };
        let count = list.and_then(|list| {
            // SAFETY: the host's own function.
            list.size.map(|size| unsafe { size(list) })
        });
        Self {
            list,
            parameters,
            frames,
            count: count.unwrap_or(0),
            read: 0,
            last: 0,
            place: transport.map(|transport| (*transport, 0)),
            news: News::None,
        }
    }

    /// Applies every event up to sample `at`, and says where the next one is that changes something.
    pub fn advance(&mut self, at: usize) -> Option<usize> {
        while self.read < self.count {
            if let Some((when, asked)) = self.next() {
                if when > at && self.changes(&asked) {
                    return Some(when);
                }
                self.last = when;
                self.apply(asked, when);
            }
            self.read += 1;
        }
        None
    }

    /// Applies every event that is left, without audio.
    pub fn finish(&mut self) -> News {
        self.advance(usize::MAX);
        self.news
    }

    /// The transport at sample `at`.
    pub fn place(&self, at: usize, sample_rate: f64) -> Option<clap_event_transport> {
        let (transport, since) = self.place.as_ref()?;
        Some(song::later(
            transport,
            at.saturating_sub(*since),
            sample_rate,
        ))
    }

    /// Time and content of the event that is read next; `None` when it is foreign.
    fn next(&self) -> Option<(usize, Asked)> {
        let list = self.list?;
        // SAFETY: the host's own function, within its count.
        let event = unsafe { list.get?(list, self.read) };
        // SAFETY: null, or an event of the size that it says.
        let header = unsafe { event.as_ref() }?;
        // SAFETY: as above.
        let asked = unsafe { asked(header, self.parameters) }?;
        let end = self.frames.saturating_sub(1);
        Some(((header.time as usize).min(end).max(self.last), asked))
    }

    fn changes(&self, asked: &Asked) -> bool {
        match *asked {
            Asked::Value(index, value) => self.parameters.value(index) != Some(value),
            Asked::Offset(..) | Asked::Place(_) => true,
        }
    }

    fn apply(&mut self, asked: Asked, when: usize) {
        let changed = match asked {
            Asked::Value(index, value) => self.parameters.set(index, value),
            Asked::Offset(index, offset) => self.parameters.modulate(index, offset),
            Asked::Place(transport) => {
                self.place = Some((transport, when));
                false
            }
        };
        if changed {
            self.news = News::Some;
        }
    }
}

/// What an event asks for, if it is one of ours.
///
/// # Safety
///
/// The event has the size that its header says.
unsafe fn asked(header: &clap_event_header, parameters: &Parameters) -> Option<Asked> {
    if header.space_id != CLAP_CORE_EVENT_SPACE_ID {
        return None;
    }
    let event = std::ptr::from_ref(header);
    let holds = |size: usize| header.size as usize >= size;
    match header.type_ {
        CLAP_EVENT_PARAM_VALUE if holds(size_of::<clap_event_param_value>()) => {
            // SAFETY: type and size are right.
            let event = unsafe { &*event.cast::<clap_event_param_value>() };
            let index = parameters.index(event.param_id)?;
            let value = event.value / steps(parameters, index);
            let value = value.is_finite().then_some(value.clamp(0.0, 1.0))?;
            Some(Asked::Value(index, value as f32))
        }
        CLAP_EVENT_PARAM_MOD if holds(size_of::<clap_event_param_mod>()) => {
            // SAFETY: as above.
            let event = unsafe { &*event.cast::<clap_event_param_mod>() };
            let index = parameters.index(event.param_id)?;
            let all = event.note_id < 0 && parameters.can_be_modulated(index);
            let amount = (all && event.amount.is_finite()).then_some(event.amount)?;
            Some(Asked::Offset(index, amount.clamp(-1.0, 1.0) as f32))
        }
        CLAP_EVENT_TRANSPORT if holds(size_of::<clap_event_transport>()) => {
            // SAFETY: as above.
            Some(Asked::Place(unsafe { *event.cast() }))
        }
        _ => None,
    }
}

/// What the framework multiplies a value between 0 and 1 with.
fn steps(parameters: &Parameters, index: usize) -> f64 {
    parameters.steps(index).unwrap_or(1).max(1) as f64
}
