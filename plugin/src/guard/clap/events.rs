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

/// Lines that are followed side by side when points are left out; of more than these each is looked at several times.
const MOST_LINES: usize = 8;

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
enum Asked<'a> {
    /// Parameter and value in its unit.
    Value(usize, f64),
    /// Parameter and offset in its unit.
    Offset(usize, f64),
    Place(&'a clap_event_transport),
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
                if when > at && self.pass_left_out(at) {
                    continue;
                }
                if when > at && self.changes(&asked) {
                    return match self.may_wait(self.read, &asked, when) {
                        true => self.next_behind(self.read, when, at),
                        false => Some(when),
                    };
                }
                self.last = when;
                self.apply(asked, when);
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
            let waits = self.may_wait(number, &asked, when) || self.first_kept(number, at) > number;
            (!waits && self.changes(&asked)).then_some(when)
        })
    }

    /// A point of a dense line, few samples before the end of the block.
    fn may_wait(&self, number: u32, asked: &Asked<'_>, when: usize) -> bool {
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
        ends && self.parameters.is_line(index)
            && close.any(|event| value_of(event).map(|point| point.param_id) == parameter)
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

    /// Goes past points that are left out; true when there were some.
    fn pass_left_out(&mut self, at: usize) -> bool {
        let kept = self.first_kept(self.read, at);
        if kept == self.read {
            return false;
        }
        self.last = self
            .header(kept - 1)
            .map_or(self.last, |header| self.time(header));
        self.read = kept;
        true
    }

    /// The first event from `from` on that is not left out. Left out are points on lines that have another point soon after
    /// sample `at`, from where they were read last. Each event is looked at once, however many lines there are points of.
    fn first_kept(&self, from: u32, at: usize) -> u32 {
        let mut lines = Lines::default();
        let end = self.count.min(from.saturating_add(1 + LOOK_AHEAD));
        let mut first_other = end;
        for number in from..end {
            let header = self.header(number);
            if header.is_some_and(|event| event.time as usize > at + DENSEST_POINTS) {
                first_other = first_other.min(number);
                break;
            }
            let is_line = |id| {
                let index = self.parameters.index(id);
                index.is_some_and(|index| self.parameters.is_line(index))
            };
            let point = header.and_then(value_of);
            if !point.is_some_and(|point| lines.note(point, number, is_line)) {
                first_other = first_other.min(number);
            }
        }
        lines.first_kept(first_other)
    }

    /// Time and content of an event; `None` when it is foreign.
    fn event(&self, number: u32) -> Option<(usize, Asked<'a>)> {
        let header = self.header(number)?;
        // SAFETY: an event of the size that it says.
        let asked = unsafe { asked(header, self.parameters) }?;
        Some((self.time(header), asked))
    }

    /// Within the block, and never before the event before.
    fn time(&self, header: &clap_event_header) -> usize {
        let end = self.frames.saturating_sub(1);
        (header.time as usize).min(end).max(self.last)
    }

    fn header(&self, number: u32) -> Option<&'a clap_event_header> {
        let list = self.list?;
        // SAFETY: the host's own function, within its count.
        let event = unsafe { list.get?(list, number) };
        // SAFETY: null, or an event of the size that it says, for as long as the walk lasts.
        unsafe { event.as_ref() }
    }

    fn changes(&self, asked: &Asked<'_>) -> bool {
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

    fn apply(&mut self, asked: Asked<'_>, when: usize) {
        let changed = match asked {
            Asked::Value(index, plain) => {
                let normalized = self.parameters.normalized(index, plain);
                normalized.is_some_and(|value| self.parameters.set(index, value))
            }
            Asked::Offset(index, offset) => self.modulate(index, offset),
            Asked::Place(transport) => {
                self.place = Some((*transport, when));
                false
            }
        };
        if changed {
            self.news = News::Some;
        }
    }
}

/// Lines that a stretch of events has points of, the last point of each.
#[derive(Default)]
struct Lines {
    /// Parameter and number of the event.
    last: [(u32, u32); MOST_LINES],
    count: usize,
}

impl Lines {
    /// Notes an event if it is a point of a line, and there is room; true when it was noted.
    fn note(
        &mut self,
        point: &clap_event_param_value,
        number: u32,
        is_line: impl Fn(u32) -> bool,
    ) -> bool {
        let id = point.param_id;
        let mut known = self.last[..self.count].iter_mut();
        // What is no number is no point, but the line that it would be on has one.
        if let Some((_, last)) = known.find(|(known, _)| *known == id) {
            *last = number;
            return point.value.is_finite();
        }
        if self.count == MOST_LINES || !point.value.is_finite() || !is_line(id) {
            return false;
        }
        self.last[self.count] = (id, number);
        self.count += 1;
        true
    }

    /// The first of the last points, or `first_other` where that comes before.
    fn first_kept(&self, first_other: u32) -> u32 {
        let numbers = self.last[..self.count].iter().map(|(_, number)| *number);
        numbers.fold(first_other, u32::min)
    }
}

/// What an event asks for, if it is one of ours.
///
/// # Safety
///
/// The event has the size that its header says.
unsafe fn asked<'a>(header: &'a clap_event_header, parameters: &Parameters) -> Option<Asked<'a>> {
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
            Some(Asked::Place(unsafe { &*event.cast() }))
        }
        _ => None,
    }
}

/// The value that an event gives to a parameter, if that is what it does.
fn value_of(header: &clap_event_header) -> Option<&clap_event_param_value> {
    let holds = header.size as usize >= size_of::<clap_event_param_value>();
    let ours = header.space_id == CLAP_CORE_EVENT_SPACE_ID;
    let value = ours && holds && header.type_ == CLAP_EVENT_PARAM_VALUE;
    let event = std::ptr::from_ref(header).cast::<clap_event_param_value>();
    // SAFETY: type and size are right.
    value.then(|| unsafe { &*event })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instance::Plumbline;
    use nice_plug::plugin::Plugin;

    type List = Vec<clap_event_param_value>;

    unsafe extern "C" fn size(list: *const clap_input_events) -> u32 {
        // SAFETY: made by the test.
        unsafe { (*(*list).ctx.cast::<List>()).len() as u32 }
    }

    unsafe extern "C" fn get(list: *const clap_input_events, n: u32) -> *const clap_event_header {
        // SAFETY: made by the test.
        unsafe { &raw const (&*(*list).ctx.cast::<List>())[n as usize].header }
    }

    /// Points at rising times, of these parameters and of none; some carry no number.
    fn random_points(random: &mut fastrand::Rng, numbers: &[u32]) -> List {
        let densest = random.usize(0..3);
        let mut time = 0;
        let mut point = || {
            time += random.usize(0..=densest) as u32;
            // SAFETY: plain data.
            let mut point: clap_event_param_value = unsafe { std::mem::zeroed() };
            point.header.size = size_of::<clap_event_param_value>() as u32;
            point.header.time = time;
            point.header.type_ = CLAP_EVENT_PARAM_VALUE;
            point.param_id = random.choice(numbers).copied().unwrap_or(0);
            point.value = if random.u8(0..20) == 0 { f64::NAN } else { 0.5 };
            point
        };
        (0..300).map(|_| point()).collect()
    }

    #[test]
    fn what_is_left_out_has_another_point_of_its_line_soon() {
        let parameters = Parameters::new(Some(Plumbline::default().params()));
        let mut random = fastrand::Rng::with_seed(1);
        for lines in [1, 2, 5, 20] {
            // From one line to more than are followed side by side; switches and strangers among them.
            let mut numbers: Vec<_> = (0..lines).filter_map(|n| parameters.number(n)).collect();
            numbers.push(1);
            let mut points = random_points(&mut random, &numbers);
            let list = clap_input_events {
                ctx: (&raw mut points).cast(),
                size: Some(size),
                get: Some(get),
            };
            // SAFETY: the list is alive.
            let events = unsafe { Events::new(&list, std::ptr::null(), 4096, &parameters) };
            let is_line = |id| parameters.index(id).is_some_and(|n| parameters.is_line(n));
            for from in 0..points.len() {
                let at = (points[from].header.time as usize).saturating_sub(random.usize(0..40));
                let left_out = |n: &usize| {
                    let point = &points[*n];
                    let mut soon = points[n + 1..].iter().take(LOOK_AHEAD as usize);
                    let next = soon.find(|next| next.param_id == point.param_id);
                    let soon = |next: &clap_event_param_value| next.header.time as usize <= at + 32;
                    point.value.is_finite() && is_line(point.param_id) && next.is_some_and(soon)
                };
                let wanted = (from..points.len()).find(|n| !left_out(n)).unwrap();
                let mut kept = from as u32;
                while events.first_kept(kept, at) > kept {
                    kept = events.first_kept(kept, at);
                }
                assert_eq!(kept as usize, wanted, "{lines} lines, from {from}, at {at}");
            }
        }
    }
}
