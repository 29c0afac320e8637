//! What a VST3 host puts around a view on Linux: a frame, and a run loop that the plugin may register with.

use std::cell::{Cell, RefCell};
use std::time::{Duration, Instant};
use vst3::Steinberg::Linux::{
    FileDescriptor, IEventHandler, IEventHandlerTrait, IRunLoop, IRunLoopTrait, ITimerHandler,
    ITimerHandlerTrait, TimerInterval,
};
use vst3::Steinberg::{
    IPlugFrame, IPlugFrameTrait, IPlugView, ViewRect, kInvalidArgument, kResultOk, tresult,
};
use vst3::{Class, ComPtr, ComRef};

/// A frame of a host that has no run loop to offer.
#[derive(Default)]
pub struct BareFrame {
    /// Width and height that the plugin asked for last, pixels.
    pub wanted: Cell<Option<(i32, i32)>>,
}

impl Class for BareFrame {
    type Interfaces = (IPlugFrame,);
}

impl IPlugFrameTrait for BareFrame {
    unsafe fn resizeView(&self, _view: *mut IPlugView, size: *mut ViewRect) -> tresult {
        // SAFETY: the plugin's pointer.
        let size = unsafe { &*size };
        let wanted = (size.right - size.left, size.bottom - size.top);
        self.wanted.set(Some(wanted));
        kResultOk
    }
}

/// A frame with a run loop.
#[derive(Default)]
pub struct Frame {
    bare: BareFrame,
    watched: RefCell<Vec<(ComPtr<IEventHandler>, FileDescriptor)>>,
    timers: RefCell<Vec<Timer>>,
}

#[derive(Clone)]
struct Timer {
    handler: ComPtr<ITimerHandler>,
    period: Duration,
    due: Instant,
}

impl Class for Frame {
    type Interfaces = (IPlugFrame, IRunLoop);
}

impl IPlugFrameTrait for Frame {
    unsafe fn resizeView(&self, view: *mut IPlugView, size: *mut ViewRect) -> tresult {
        // SAFETY: the plugin's pointers.
        unsafe { self.bare.resizeView(view, size) }
    }
}

impl IRunLoopTrait for Frame {
    unsafe fn registerEventHandler(
        &self,
        handler: *mut IEventHandler,
        descriptor: FileDescriptor,
    ) -> tresult {
        // SAFETY: the plugin's pointer.
        let Some(handler) = (unsafe { ComRef::from_raw(handler) }) else {
            return kInvalidArgument;
        };
        let watched = (handler.to_com_ptr(), descriptor);
        self.watched.borrow_mut().push(watched);
        kResultOk
    }

    unsafe fn unregisterEventHandler(&self, handler: *mut IEventHandler) -> tresult {
        let kept = |(other, _): &(ComPtr<IEventHandler>, FileDescriptor)| other.as_ptr() != handler;
        self.watched.borrow_mut().retain(kept);
        kResultOk
    }

    unsafe fn registerTimer(
        &self,
        handler: *mut ITimerHandler,
        milliseconds: TimerInterval,
    ) -> tresult {
        // SAFETY: the plugin's pointer.
        let Some(handler) = (unsafe { ComRef::from_raw(handler) }) else {
            return kInvalidArgument;
        };
        let period = Duration::from_millis(milliseconds);
        self.timers.borrow_mut().push(Timer {
            handler: handler.to_com_ptr(),
            period,
            due: Instant::now() + period,
        });
        kResultOk
    }

    unsafe fn unregisterTimer(&self, handler: *mut ITimerHandler) -> tresult {
        let kept = |timer: &Timer| timer.handler.as_ptr() != handler;
        self.timers.borrow_mut().retain(kept);
        kResultOk
    }
}

impl Frame {
    /// One turn of the run loop: calls every handler, as a host may do without being asked, and every timer that is due.
    pub fn turn(&self) {
        // Handlers may register and unregister from within.
        let watched = self.watched.borrow().clone();
        for (handler, descriptor) in watched {
            // SAFETY: the handler is registered.
            unsafe { handler.onFDIsSet(descriptor) };
        }
        let now = Instant::now();
        let mut due = Vec::new();
        for timer in self.timers.borrow_mut().iter_mut() {
            if timer.due <= now {
                timer.due = now + timer.period;
                due.push(timer.handler.clone());
            }
        }
        for handler in due {
            // SAFETY: the handler was registered a moment ago.
            unsafe { handler.onTimer() };
        }
    }

    /// The size that the plugin has asked for since the last call.
    pub fn take_wanted(&self) -> Option<(i32, i32)> {
        self.bare.wanted.take()
    }

    /// How many handlers and timers are registered.
    pub fn registered(&self) -> usize {
        self.watched.borrow().len() + self.timers.borrow().len()
    }
}
