//! What a VST3 host hands to a plugin: a handler, parameter queues, a file.

use super::state_type::StateType;
use std::cell::{Cell, RefCell};
use std::ffi::c_void;
use std::ptr::null_mut;
use std::sync::Mutex;
use std::sync::atomic::{AtomicI32, Ordering::Relaxed};
use std::thread::{self, ThreadId};
use vst3::Steinberg::Vst::{
    IAttributeList, IComponentHandler, IComponentHandler2, IComponentHandler2Trait,
    IComponentHandlerTrait, IParamValueQueue, IParamValueQueueTrait, IParameterChanges,
    IParameterChangesTrait, IStreamAttributes, IStreamAttributesTrait, ParamID, ParamValue,
    String128,
};
use vst3::Steinberg::{
    FIDString, IBStream, IBStreamTrait, TBool, int32, int64, kNotImplemented, kResultFalse,
    kResultOk, tresult,
};
use vst3::{Class, ComPtr, ComWrapper};

/// Takes note of restarts and gestures.
#[derive(Default)]
pub struct Handler(pub AtomicI32, pub Mutex<Vec<Heard>>);

/// What a handler was told, and on which thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    pub said: Said,
    pub thread: ThreadId,
}

/// A call of the handler; the number is the parameter's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Said {
    Begin(ParamID),
    Value(ParamID, ParamValue),
    End(ParamID),
    Restart(int32),
    Unsaved,
}

impl Handler {
    fn note(&self, said: Said) -> tresult {
        let thread = thread::current().id();
        self.1.lock().unwrap().push(Heard { said, thread });
        kResultOk
    }
}

impl Class for Handler {
    type Interfaces = (IComponentHandler, IComponentHandler2);
}

impl IComponentHandler2Trait for Handler {
    unsafe fn setDirty(&self, _state: TBool) -> tresult {
        self.note(Said::Unsaved)
    }
    unsafe fn requestOpenEditor(&self, _name: FIDString) -> tresult {
        kResultFalse
    }
    unsafe fn startGroupEdit(&self) -> tresult {
        kResultOk
    }
    unsafe fn finishGroupEdit(&self) -> tresult {
        kResultOk
    }
}

impl IComponentHandlerTrait for Handler {
    unsafe fn beginEdit(&self, id: ParamID) -> tresult {
        self.note(Said::Begin(id))
    }
    unsafe fn performEdit(&self, id: ParamID, value: ParamValue) -> tresult {
        self.note(Said::Value(id, value))
    }
    unsafe fn endEdit(&self, id: ParamID) -> tresult {
        self.note(Said::End(id))
    }
    unsafe fn restartComponent(&self, flags: int32) -> tresult {
        self.0.fetch_or(flags, Relaxed);
        self.note(Said::Restart(flags))
    }
}

/// A parameter that changes in a block.
#[derive(Clone, Copy, Debug)]
pub struct Change {
    /// Sample of the block.
    pub frame: usize,
    pub id: &'static str,
    /// Between 0 and 1.
    pub normalized: f64,
}

impl Change {
    /// At the start of the block.
    pub fn first(id: &'static str, normalized: f64) -> Self {
        Self {
            frame: 0,
            id,
            normalized,
        }
    }
}

/// The changes of a block, one queue of points a parameter.
pub struct Changes(Vec<ComPtr<IParamValueQueue>>);

impl Changes {
    /// Changes of one parameter come in the order of their samples.
    pub fn new(changes: &[Change]) -> Self {
        let mut queues: Vec<Queue> = Vec::new();
        for change in changes {
            let id = number(change.id);
            let point = (change.frame as int32, change.normalized);
            match queues.iter_mut().find(|queue| queue.id == id) {
                Some(queue) => queue.points.push(point),
                None => queues.push(Queue {
                    id,
                    points: vec![point],
                }),
            }
        }
        let pointer = |queue: Queue| ComWrapper::new(queue).to_com_ptr().unwrap();
        Self(queues.into_iter().map(pointer).collect())
    }
}

/// The points of one parameter in a block, in whatever order.
pub struct Points {
    pub id: ParamID,
    /// Sample and value between 0 and 1.
    pub points: Vec<(int32, ParamValue)>,
}

impl Changes {
    /// Queues as they are, of any parameters and any times.
    pub fn of(queues: Vec<Points>) -> Self {
        let pointer = |Points { id, points }| {
            let queue = ComWrapper::new(Queue { id, points });
            queue.to_com_ptr().unwrap()
        };
        Self(queues.into_iter().map(pointer).collect())
    }
}

pub use plumbline_hosting::parameter_number as number;

impl Class for Changes {
    type Interfaces = (IParameterChanges,);
}

impl IParameterChangesTrait for Changes {
    unsafe fn getParameterCount(&self) -> int32 {
        self.0.len() as int32
    }
    unsafe fn getParameterData(&self, index: int32) -> *mut IParamValueQueue {
        self.0[index as usize].as_ptr()
    }
    unsafe fn addParameterData(
        &self,
        _id: *const ParamID,
        _index: *mut int32,
    ) -> *mut IParamValueQueue {
        null_mut()
    }
}

struct Queue {
    id: ParamID,
    /// Sample and value.
    points: Vec<(int32, ParamValue)>,
}

impl Class for Queue {
    type Interfaces = (IParamValueQueue,);
}

impl IParamValueQueueTrait for Queue {
    unsafe fn getParameterId(&self) -> ParamID {
        self.id
    }
    unsafe fn getPointCount(&self) -> int32 {
        self.points.len() as int32
    }
    unsafe fn getPoint(&self, index: int32, at: *mut int32, value: *mut ParamValue) -> tresult {
        // SAFETY: the plugin's pointers.
        unsafe { (*at, *value) = self.points[index as usize] };
        kResultOk
    }
    unsafe fn addPoint(&self, _at: int32, _value: ParamValue, _index: *mut int32) -> tresult {
        kNotImplemented
    }
}

/// A file in memory.
#[derive(Default)]
pub struct Stream {
    pub bytes: RefCell<Vec<u8>>,
    at: Cell<usize>,
    /// What the state in it is for; null when nobody says so.
    attributes: Option<ComPtr<IAttributeList>>,
}

impl Stream {
    /// At the start of what is there already.
    pub fn of(bytes: &[u8]) -> Self {
        Self {
            bytes: RefCell::new(bytes.to_vec()),
            at: Cell::new(0),
            attributes: None,
        }
    }

    /// The same, saying what the state is for.
    pub fn of_kind(bytes: &[u8], kind: &'static str) -> Self {
        Self {
            attributes: ComWrapper::new(StateType(kind)).to_com_ptr(),
            ..Self::of(bytes)
        }
    }
}

impl Class for Stream {
    type Interfaces = (IBStream, IStreamAttributes);
}

impl IStreamAttributesTrait for Stream {
    unsafe fn getFileName(&self, _name: *mut String128) -> tresult {
        kResultFalse
    }

    unsafe fn getAttributes(&self) -> *mut IAttributeList {
        self.attributes.as_ref().map_or(null_mut(), ComPtr::as_ptr)
    }
}

impl IBStreamTrait for Stream {
    unsafe fn read(&self, to: *mut c_void, count: int32, read: *mut int32) -> tresult {
        let bytes = self.bytes.borrow();
        let rest = &bytes[self.at.get().min(bytes.len())..];
        let count = rest.len().min(count.max(0) as usize);
        // SAFETY: the plugin has room for what it asks for.
        unsafe {
            to.cast::<u8>()
                .copy_from_nonoverlapping(rest.as_ptr(), count)
        };
        self.at.set(self.at.get() + count);
        tell(read, count as int32)
    }

    unsafe fn write(&self, from: *mut c_void, count: int32, written: *mut int32) -> tresult {
        // SAFETY: the plugin has what it wants to write.
        let from = unsafe { std::slice::from_raw_parts(from.cast::<u8>(), count as usize) };
        self.bytes.borrow_mut().extend_from_slice(from);
        tell(written, count)
    }

    unsafe fn seek(&self, to: int64, from: int32, at: *mut int64) -> tresult {
        let base = match from {
            0 => 0,
            1 => self.at.get() as int64,
            2 => self.bytes.borrow().len() as int64,
            _ => return kResultFalse,
        };
        self.at.set((base + to) as usize);
        tell(at, base + to)
    }

    unsafe fn tell(&self, at: *mut int64) -> tresult {
        tell(at, self.at.get() as int64)
    }
}

fn tell<T>(to: *mut T, value: T) -> tresult {
    if !to.is_null() {
        // SAFETY: the plugin's pointer.
        unsafe { *to = value };
    }
    kResultOk
}
