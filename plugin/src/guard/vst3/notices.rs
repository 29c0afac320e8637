//! What the plugin tells a VST3 host, on the host's main thread.
//!
//! The window draws on a thread of its own on Linux, and the framework tells of a new latency from a worker. Where the
//! host lends its run loop their notices wait for it; a host without one hears them from where they come.

#[cfg(all(feature = "editor", target_os = "linux"))]
use super::run_loop_waker::RunLoopWaker;
use std::sync::atomic::{
    AtomicBool, AtomicU32,
    Ordering::{AcqRel, Acquire},
};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{self, ThreadId};
use vst3::Steinberg::Vst::{
    IComponentHandler, IComponentHandler2, IComponentHandler2Trait, IComponentHandlerTrait,
    ParamID, ParamValue,
};
use vst3::Steinberg::{int32, kNotImplemented, kResultOk, tresult};
use vst3::{Class, ComPtr, ComRef};

/// One thing to say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Notice {
    Begin(ParamID),
    /// Between 0 and 1.
    Value(ParamID, ParamValue),
    End(ParamID),
    /// `RestartFlags`.
    Restart(int32),
    /// There is something new to save.
    Unsaved,
}

/// The way of one instance's notices. Never used by the audio thread.
pub(super) struct Notices {
    /// The thread that made the instance, or that has opened a window since.
    main: Mutex<ThreadId>,
    handler: Mutex<Option<ComPtr<IComponentHandler>>>,
    waiting: Mutex<Vec<Notice>>,
    /// There while a frame lends its run loop. None is needed where windows live on the main thread.
    #[cfg(all(feature = "editor", target_os = "linux"))]
    waker: Mutex<Option<RunLoopWaker>>,
    /// There is something new to save that the host has not heard of.
    unsaved: AtomicBool,
    /// Calls that must be over before anything is said.
    held: AtomicU32,
    /// Parameters that are being dragged.
    open: Mutex<Vec<ParamID>>,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Notices {
    pub fn new() -> Self {
        Self {
            main: Mutex::new(thread::current().id()),
            handler: Mutex::default(),
            waiting: Mutex::default(),
            #[cfg(all(feature = "editor", target_os = "linux"))]
            waker: Mutex::default(),
            unsaved: AtomicBool::new(false),
            held: AtomicU32::new(0),
            open: Mutex::default(),
        }
    }

    /// Whom to tell.
    ///
    /// # Safety
    ///
    /// `handler` is null, or a handler that lives at least as long as this call.
    pub unsafe fn set_handler(&self, handler: *mut IComponentHandler) {
        // SAFETY: as promised by the caller; what is kept counts as an owner.
        let handler = unsafe { ComRef::from_raw(handler) }.map(|handler| handler.to_com_ptr());
        let old = std::mem::replace(&mut *locked(&self.handler), handler);
        // Outside the lock: the host's own code may run.
        drop(old);
    }

    /// Says it now on the main thread, or has it said there.
    pub fn tell(&self, notice: Notice) {
        if self.held.load(Acquire) > 0 {
            locked(&self.waiting).push(notice);
        } else if self.is_main_thread() || !self.leave(notice) {
            self.say(notice);
        }
    }

    /// There is something new to save. It waits for the run loop, or for the next call of the main thread; whoever tells it
    /// waits for nobody.
    pub fn tell_unsaved(&self) {
        if !self.unsaved.swap(true, AcqRel) {
            self.wake_if_free();
        }
    }

    /// A call of the host's: on the main thread, what waits for it is said.
    pub fn called(&self) {
        if self.unsaved.load(Acquire) && self.is_main_thread() {
            self.deliver();
        }
    }

    fn is_main_thread(&self) -> bool {
        thread::current().id() == *locked(&self.main)
    }

    #[cfg(all(feature = "editor", target_os = "linux"))]
    fn wake_if_free(&self) {
        if let Ok(waker) = self.waker.try_lock()
            && let Some(waker) = &*waker
        {
            waker.wake();
        }
    }

    #[cfg(not(all(feature = "editor", target_os = "linux")))]
    fn wake_if_free(&self) {}

    /// From here on notices wait.
    pub fn hold(&self) {
        self.held.fetch_add(1, AcqRel);
    }

    /// Says what has waited. The caller is on the main thread.
    pub fn release(&self) {
        if self.held.fetch_sub(1, AcqRel) == 1 {
            self.deliver();
        }
    }

    /// Leaves it for the run loop, if there is one.
    #[cfg(all(feature = "editor", target_os = "linux"))]
    fn leave(&self, notice: Notice) -> bool {
        let waker = locked(&self.waker);
        if let Some(waker) = &*waker {
            locked(&self.waiting).push(notice);
            waker.wake();
        }
        waker.is_some()
    }

    #[cfg(not(all(feature = "editor", target_os = "linux")))]
    fn leave(&self, _notice: Notice) -> bool {
        false
    }

    /// A frame lends its run loop, or takes it back. The caller is on the main thread.
    #[cfg(all(feature = "editor", target_os = "linux"))]
    pub fn set_waker(&self, waker: Option<RunLoopWaker>) {
        *locked(&self.main) = thread::current().id();
        *locked(&self.waker) = waker;
        self.deliver();
    }

    /// Wakes it with nothing to say: the window's thread wants to be attended to.
    #[cfg(all(feature = "editor", target_os = "linux"))]
    pub fn wake(&self) {
        if let Some(waker) = &*locked(&self.waker) {
            waker.wake();
        }
    }

    #[cfg(all(feature = "editor", not(target_os = "linux")))]
    pub fn wake(&self) {}

    /// Says what has waited, unless it must wait still. The caller is on the main thread.
    pub fn deliver(&self) {
        if self.held.load(Acquire) > 0 {
            return;
        }
        let waiting = std::mem::take(&mut *locked(&self.waiting));
        waiting.into_iter().for_each(|notice| self.say(notice));
        if self.unsaved.swap(false, AcqRel) {
            self.say(Notice::Unsaved);
        }
    }

    /// A window has gone: whoever was dragging in it has let go.
    pub fn let_go(&self) {
        self.deliver();
        let open = locked(&self.open).clone();
        open.into_iter().for_each(|id| self.say(Notice::End(id)));
    }

    fn say(&self, notice: Notice) {
        match notice {
            Notice::Begin(id) => locked(&self.open).push(id),
            // Has been ended already, when its window went.
            Notice::End(id) if !locked(&self.open).contains(&id) => return,
            Notice::End(id) => locked(&self.open).retain(|&open| open != id),
            _ => {}
        }
        // A copy, as the host may set another handler from within.
        let Some(handler) = locked(&self.handler).clone() else {
            return;
        };
        // SAFETY: the handler is alive; this is the thread it wants to be called on, or the host has not lent a better one.
        unsafe {
            match notice {
                Notice::Begin(id) => handler.beginEdit(id),
                Notice::Value(id, value) => handler.performEdit(id, value),
                Notice::End(id) => handler.endEdit(id),
                Notice::Restart(flags) => handler.restartComponent(flags),
                Notice::Unsaved => match handler.cast::<IComponentHandler2>() {
                    Some(handler) => handler.setDirty(1),
                    None => kNotImplemented,
                },
            }
        };
    }
}

/// The handler that the framework knows, from the start and for good: it must never look while another is being set.
pub(super) struct Relay(pub Arc<Notices>);

impl Class for Relay {
    type Interfaces = (IComponentHandler,);
}

impl IComponentHandlerTrait for Relay {
    unsafe fn beginEdit(&self, id: ParamID) -> tresult {
        self.0.tell(Notice::Begin(id));
        kResultOk
    }

    unsafe fn performEdit(&self, id: ParamID, value: ParamValue) -> tresult {
        self.0.tell(Notice::Value(id, value));
        kResultOk
    }

    unsafe fn endEdit(&self, id: ParamID) -> tresult {
        self.0.tell(Notice::End(id));
        kResultOk
    }

    unsafe fn restartComponent(&self, flags: int32) -> tresult {
        self.0.tell(Notice::Restart(flags));
        kResultOk
    }
}
