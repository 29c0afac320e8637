//! The events of a block, taken in the order in which the host lists them.
//!
//! Hosts put events behind the end of the block and out of order; the framework reads past their buffers for it. Here a
//! time is never before the one before and never behind the last sample.

use super::song;
use crate::guard::parameters::{DENSEST_POINTS, Parameters, SHORTEST_PART};
use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_PARAM_MOD, CLAP_EVENT_PARAM_VALUE, CLAP_EVENT_TRANSPORT,
    clap_event_header, clap_event_param_mod, clap_event_param_value, clap_event_transport,
    clap_input_events,
};

/// How far ahead the next point of the same parameter is looked for, events.
const LOOK_AHEAD: u32 = 64;

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
    /// Parameter and value in its unit.
    Value(usize, f64),
    /// Parameter and offset in its unit.
    Offset(usize, f64),
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

    /// Applies every event up to sample `at`, and says where the next one is that changes something. Of points that lie
    /// densely some are left out.
    pub fn advance(&mut self, at: usize) -> Option<usize> {
        while self.read < self.count {
            if let Some((when, asked)) = self.event(self.read) {
                let left_out = when > at && self.may_be_left_out(&asked, at, self.read);
                if when > at && !left_out && self.changes(&asked) {
                    return match self.may_wait(self.read, &asked, when) {
                        true => self.next_behind(self.read, when, at),
                        false => Some(when),
                    };
                }
                self.last = when;
                if !left_out {
                    self.apply(asked, when);
                }
            }
            self.read += 1;
        }
        None
    }

    /// Where the next event behind one that waits for the block's end, at sample `since`, is that changes something and
    /// cannot wait.
    fn next_behind(&self, waiting: u32, since: usize, at: usize) -> Option<usize> {
        (waiting + 1..self.count).find_map(|number| {
            let (when, asked) = self.event(number)?;
            let when = when.max(since);
            let waits =
                self.may_wait(number, &asked, when) || self.may_be_left_out(&asked, at, number);
            (!waits && self.changes(&asked)).then_some(when)
        })
    }

    /// A point of a dense line, few samples before the end of the block.
    fn may_wait(&self, number: u32, asked: &Asked, when: usize) -> bool {
        let Asked::Value(index, _) = *asked else {
            return false;
        };
        let ends = self.frames.saturating_sub(when) < SHORTEST_PART;
        let start = number.saturating_sub(LOOK_AHEAD);
        let earlier = (start..number)
            .rev()
            .filter_map(|number| self.header(number));
        let mut close = earlier.take_while(|event| event.time as usize + DENSEST_POINTS >= when);
        let parameter = self.parameters.number(index);
        ends && self.parameters.is_line(index) && close.any(|event| value_of(event) == parameter)
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

    /// A point on a line whose next point comes soon after sample `at`, from where the line was read last.
    fn may_be_left_out(&self, asked: &Asked, at: usize, number: u32) -> bool {
        let Asked::Value(index, _) = *asked else {
            return false;
        };
        let end = self.count.min(number + 1 + LOOK_AHEAD);
        let later = (number + 1..end).filter_map(|number| self.header(number));
        let mut soon = later.take_while(|event| event.time as usize <= at + DENSEST_POINTS);
        let parameter = self.parameters.number(index);
        self.parameters.is_line(index) && soon.any(|event| value_of(event) == parameter)
    }

    /// Time and content of an event; `None` when it is foreign.
    fn event(&self, number: u32) -> Option<(usize, Asked)> {
        let header = self.header(number)?;
        // SAFETY: an event of the size that it says.
        let asked = unsafe { asked(header, self.parameters) }?;
        let end = self.frames.saturating_sub(1);
        Some(((header.time as usize).min(end).max(self.last), asked))
    }

    fn header(&self, number: u32) -> Option<&'a clap_event_header> {
        let list = self.list?;
        // SAFETY: the host's own function, within its count.
        let event = unsafe { list.get?(list, number) };
        // SAFETY: null, or an event of the size that it says, for as long as the walk lasts.
        unsafe { event.as_ref() }
    }

    fn changes(&self, asked: &Asked) -> bool {
        match *asked {
            Asked::Value(index, plain) => {
                let normalized = self.parameters.normalized(index, plain);
                self.parameters.value(index) != normalized
            }
            Asked::Offset(..) | Asked::Place(_) => true,
        }
    }

    /// An offset is one from the value that stands, in its unit.
    fn modulate(&self, index: usize, offset: f64) -> bool {
        let parameters = self.parameters;
        let moved = || {
            let stands = parameters.value(index)?;
            let plain = parameters.plain(index, stands)?;
            Some(parameters.normalized(index, plain + offset)? - stands)
        };
        moved().is_some_and(|offset| parameters.modulate(index, offset))
    }

    fn apply(&mut self, asked: Asked, when: usize) {
        let changed = match asked {
            Asked::Value(index, plain) => {
                let normalized = self.parameters.normalized(index, plain);
                normalized.is_some_and(|value| self.parameters.set(index, value))
            }
            Asked::Offset(index, offset) => self.modulate(index, offset),
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
            let value = event.value.is_finite().then_some(event.value)?;
            Some(Asked::Value(index, value))
        }
        CLAP_EVENT_PARAM_MOD if holds(size_of::<clap_event_param_mod>()) => {
            // SAFETY: as above.
            let event = unsafe { &*event.cast::<clap_event_param_mod>() };
            let index = parameters.index(event.param_id)?;
            let all = event.note_id < 0 && parameters.is_line(index);
            let amount = (all && event.amount.is_finite()).then_some(event.amount)?;
            Some(Asked::Offset(index, amount))
        }
        CLAP_EVENT_TRANSPORT if holds(size_of::<clap_event_transport>()) => {
            // SAFETY: as above.
            Some(Asked::Place(unsafe { *event.cast() }))
        }
        _ => None,
    }
}

/// The number of the parameter that an event gives a value to.
fn value_of(header: &clap_event_header) -> Option<u32> {
    let holds = header.size as usize >= size_of::<clap_event_param_value>();
    let ours = header.space_id == CLAP_CORE_EVENT_SPACE_ID;
    let value = ours && holds && header.type_ == CLAP_EVENT_PARAM_VALUE;
    let event = std::ptr::from_ref(header).cast::<clap_event_param_value>();
    // SAFETY: type and size are right.
    value.then(|| unsafe { (*event).param_id })
}
