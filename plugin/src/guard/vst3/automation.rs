//! The parameter queues of a block, walked through together in the order of time.

use super::values::Values;
use crate::guard::parameters::{DENSEST_POINTS, SHORTEST_PART};
use vst3::ComRef;
use vst3::Steinberg::Vst::{
    IParamValueQueue, IParamValueQueueTrait, IParameterChanges, IParameterChangesTrait,
};
use vst3::Steinberg::{int32, kResultOk};

/// Queues that are walked through in time: more than there are parameters. What comes in further ones counts from the
/// start of the block.
const QUEUES: usize = 128;

/// The walk through one block. Allocates when it is made and never again.
pub(super) struct Automation {
    queues: Vec<Walk>,
}

/// The next point of one queue.
struct Walk {
    queue: *mut IParamValueQueue,
    parameter: usize,
    /// Points, and how many have been read.
    count: int32,
    read: int32,
    /// Sample of the block; never before the point before.
    at: usize,
    /// The same, once a point has been read, and of the one before it.
    latest: Option<usize>,
    before: Option<usize>,
    /// Between 0 and 1.
    value: f64,
}

impl Walk {
    /// Reads the next point; false at the end. A point that cannot be read is passed over.
    ///
    /// # Safety
    ///
    /// The queue is the host's, within the block.
    unsafe fn read(&mut self, frames: usize) -> bool {
        // SAFETY: as promised by the caller.
        let Some(queue) = (unsafe { ComRef::from_raw(self.queue) }) else {
            return false;
        };
        while self.read < self.count {
            let (mut at, mut value) = (0, 0.0);
            // SAFETY: the queue is valid, and so are the pointers.
            let result = unsafe { queue.getPoint(self.read, &mut at, &mut value) };
            self.read += 1;
            if result == kResultOk && value.is_finite() {
                let at = usize::try_from(at)
                    .unwrap_or(0)
                    .min(frames.saturating_sub(1));
                (self.at, self.value) = (self.at.max(at), value.clamp(0.0, 1.0));
                self.before = self.latest.replace(self.at);
                return true;
            }
        }
        false
    }
}

impl Walk {
    /// The last point of a dense line in this block, few samples before its end and behind sample `at`: it counts from the
    /// next block on.
    fn waits(&self, frames: usize, at: usize, values: &Values) -> bool {
        let ends = self.read >= self.count && frames.saturating_sub(self.at) < SHORTEST_PART;
        let is_close = |before: usize| self.at <= before + DENSEST_POINTS;
        let dense = self.before.is_some_and(is_close);
        ends && dense && self.at > at && values.parameters.is_line(self.parameter)
    }

    /// This point is on a line whose next point comes soon after sample `at`, from where the line was read last.
    ///
    /// # Safety
    ///
    /// As for [`read`](Self::read).
    unsafe fn is_dense(&self, frames: usize, at: usize, values: &Values) -> bool {
        let mut next = Self { ..*self };
        // SAFETY: as promised by the caller.
        let follows = unsafe { next.read(frames) };
        follows && next.at <= at + DENSEST_POINTS && values.parameters.is_line(self.parameter)
    }
}

impl Automation {
    pub fn new() -> Self {
        Self {
            queues: Vec::with_capacity(QUEUES),
        }
    }

    /// Begins a block of `frames`.
    ///
    /// # Safety
    ///
    /// `changes` is null or the host's, for as long as the block is walked through.
    pub unsafe fn begin(
        &mut self,
        changes: *mut IParameterChanges,
        frames: usize,
        values: &Values,
    ) {
        self.queues.clear();
        // SAFETY: as promised by the caller.
        let Some(changes) = (unsafe { ComRef::from_raw(changes) }) else {
            return;
        };
        // SAFETY: as promised by the caller.
        let count = unsafe { changes.getParameterCount() };
        for index in 0..count {
            // SAFETY: within the count.
            let queue = unsafe { changes.getParameterData(index) };
            // SAFETY: the queue is the host's.
            let Some(mut walk) = (unsafe { walk(queue, values) }) else {
                continue;
            };
            // SAFETY: as above.
            if unsafe { walk.read(frames) } {
                match self.queues.len() < QUEUES {
                    true => self.queues.push(walk),
                    // SAFETY: as above.
                    false => unsafe { finish(walk, values) },
                }
            }
        }
    }

    /// Applies every point up to sample `at`, and says where the next one is that changes something. Of points that lie
    /// densely some are left out.
    ///
    /// # Safety
    ///
    /// The queues of [`begin`](Self::begin) are still valid.
    pub unsafe fn advance(&mut self, at: usize, frames: usize, values: &Values) -> Option<usize> {
        loop {
            let next = self
                .queues
                .iter()
                .enumerate()
                .filter(|(_, walk)| !walk.waits(frames, at, values))
                .min_by_key(|(_, walk)| walk.at);
            let (index, walk) =
                next.map(|(index, walk)| (index, (walk.at, walk.parameter, walk.value)))?;
            let (when, parameter, value) = walk;
            let later = when > at && values.parameters.value(parameter) != Some(value as f32);
            // SAFETY: as promised by the caller.
            let left_out = later && unsafe { self.queues[index].is_dense(frames, at, values) };
            if later && !left_out {
                return Some(when);
            }
            if !left_out {
                values.automate(parameter, value);
            }
            // SAFETY: as promised by the caller.
            if !unsafe { self.queues[index].read(frames) } {
                // In order: of two queues of one parameter the later one counts.
                self.queues.remove(index);
            }
        }
    }

    /// Applies every point that is left, without audio.
    ///
    /// # Safety
    ///
    /// As for [`advance`](Self::advance).
    pub unsafe fn finish(&mut self, values: &Values) {
        for walk in self.queues.drain(..) {
            // SAFETY: as promised by the caller.
            unsafe { finish(walk, values) };
        }
    }
}

/// The walk through a queue of a parameter that there is.
///
/// # Safety
///
/// `queue` is null or the host's.
unsafe fn walk(queue: *mut IParamValueQueue, values: &Values) -> Option<Walk> {
    // SAFETY: as promised by the caller.
    let valid = unsafe { ComRef::from_raw(queue) }?;
    // SAFETY: the queue is valid.
    let (number, count) = unsafe { (valid.getParameterId(), valid.getPointCount()) };
    Some(Walk {
        queue,
        parameter: values.parameters.index(number)?,
        count,
        read: 0,
        at: 0,
        latest: None,
        before: None,
        value: 0.0,
    })
}

/// Applies a queue's last point.
///
/// # Safety
///
/// The queue is valid.
unsafe fn finish(mut walk: Walk, values: &Values) {
    // SAFETY: as promised by the caller.
    while unsafe { walk.read(usize::MAX) } {}
    values.automate(walk.parameter, walk.value);
}
