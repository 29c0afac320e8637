//! The host's run loop on Linux: a socket that it watches, and what is done on its thread when the socket is written to.

use super::notices::Notices;
use super::run_loop_waker::RunLoopWaker;
use std::io::Read;
use std::os::fd::AsRawFd;
use std::os::unix::net::UnixStream;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Release};
use vst3::Steinberg::Linux::{
    FileDescriptor, IEventHandler, IEventHandlerTrait, IRunLoop, IRunLoopTrait,
};
use vst3::Steinberg::kResultOk;
use vst3::{Class, ComPtr, ComWrapper};

/// The end that the run loop watches. A socket, as not every host watches other descriptors.
struct Listener {
    socket: UnixStream,
    woken: Arc<AtomicBool>,
    notices: Arc<Notices>,
    attend: Rc<dyn Fn()>,
}

impl Class for Listener {
    type Interfaces = (IEventHandler,);
}

impl IEventHandlerTrait for Listener {
    unsafe fn onFDIsSet(&self, _descriptor: FileDescriptor) {
        let mut bytes = [0; 32];
        while matches!((&self.socket).read(&mut bytes), Ok(1..)) {}
        self.woken.store(false, Release);
        self.notices.deliver();
        (self.attend)();
    }
}

/// A registration that ends with this value.
pub(super) struct Watch {
    run_loop: ComPtr<IRunLoop>,
    handler: ComPtr<IEventHandler>,
    notices: Arc<Notices>,
}

impl Watch {
    /// Registers with the run loop; `attend` is called on its thread. `None` when the host refuses or has no descriptor
    /// left.
    pub fn new(
        run_loop: ComPtr<IRunLoop>,
        notices: Arc<Notices>,
        attend: Rc<dyn Fn()>,
    ) -> Option<Self> {
        let (near, far) = UnixStream::pair().ok()?;
        near.set_nonblocking(true).ok()?;
        far.set_nonblocking(true).ok()?;
        let woken = Arc::<AtomicBool>::default();
        let descriptor = far.as_raw_fd();
        let listener = Listener {
            socket: far,
            woken: Arc::clone(&woken),
            notices: Arc::clone(&notices),
            attend,
        };
        let handler = ComWrapper::new(listener).to_com_ptr::<IEventHandler>()?;
        // SAFETY: the handler lives until it is taken back.
        let result = unsafe { run_loop.registerEventHandler(handler.as_ptr(), descriptor) };
        if result != kResultOk {
            return None;
        }
        notices.set_waker(Some(RunLoopWaker::new(near, woken)));
        Some(Self {
            run_loop,
            handler,
            notices,
        })
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.notices.set_waker(None);
        // SAFETY: it is registered.
        unsafe { self.run_loop.unregisterEventHandler(self.handler.as_ptr()) };
    }
}
