//! The VST3 window: opened and closed by the host's main thread alone, whatever the audio thread does meanwhile.
//!
//! The framework's own view lends its window to every thread that changes a parameter, and aborts the host when one comes
//! while it opens. This one is never seen by another thread.

use super::gestures::Gestures;
use super::notices::Notices;
use super::values::Values;
use crate::instance::Plumbline;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::{NativeSize, Size};
use nice_plug::editor::{
    Editor, EditorHandle, HostCallbacks, HostMainThreadCaller, HostMethods, ParentWindowHandle,
    SpawnedEditor,
};
use nice_plug::plugin::Plugin;
use std::cell::{Cell, RefCell};
use std::error::Error;
use std::ffi::{CStr, c_void};
use std::num::NonZeroIsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::ptr::NonNull;
use std::rc::{Rc, Weak};
use std::sync::Arc;
use vst3::Steinberg::{
    FIDString, IPlugFrame, IPlugFrameTrait, IPlugView, IPlugViewContentScaleSupport,
    IPlugViewContentScaleSupport_::ScaleFactor, IPlugViewContentScaleSupportTrait, IPlugViewTrait,
    TBool, ViewRect, char16, int16, kInvalidArgument, kPlatformTypeHWND, kPlatformTypeNSView,
    kPlatformTypeX11EmbedWindowID, kResultFalse, kResultOk, tresult,
};
use vst3::{Class, ComPtr, ComRef, ComWrapper};

type OwnEditor = <Plumbline as Plugin>::Editor;
type OpenWindow = SpawnedEditor<<OwnEditor as Editor>::Handle>;

/// One view. The host's main thread owns it.
pub(super) struct View {
    editor: OwnEditor,
    values: Arc<Values>,
    notices: Arc<Notices>,
    pane: Rc<Pane>,
    #[cfg(target_os = "linux")]
    watch: RefCell<Option<super::run_loop::Watch>>,
}

/// The window and its frame, which call each other.
#[derive(Default)]
struct Pane {
    window: RefCell<Option<OpenWindow>>,
    frame: RefCell<Option<ComPtr<IPlugFrame>>>,
    /// What the host calls this view. It is alive while it has a frame.
    view: Cell<Option<NonNull<IPlugView>>>,
    /// Pixels a point, when the host has said so.
    scale: Cell<Option<f64>>,
}

impl Class for View {
    type Interfaces = (IPlugView, IPlugViewContentScaleSupport);
}

/// A view of the instance, one reference for the host.
pub(super) fn view(
    editor: OwnEditor,
    values: &Arc<Values>,
    notices: &Arc<Notices>,
) -> *mut IPlugView {
    let view = ComWrapper::new(View {
        editor,
        values: Arc::clone(values),
        notices: Arc::clone(notices),
        pane: Rc::default(),
        #[cfg(target_os = "linux")]
        watch: RefCell::default(),
    });
    let Some(pointer) = view.to_com_ptr::<IPlugView>() else {
        return std::ptr::null_mut();
    };
    view.pane.view.set(NonNull::new(pointer.as_ptr()));
    pointer.into_raw()
}

/// What the host is asked for by the window.
struct Frame(Weak<Pane>);

impl HostCallbacks for Frame {
    fn request_resize(&mut self, size: Size, scale: f64) -> Result<(), Box<dyn Error>> {
        let pane = self.0.upgrade().ok_or("the view has gone")?;
        let frame = pane.frame.borrow().clone().ok_or("the view has no frame")?;
        let view = pane.view.get().ok_or("the view has gone")?;
        let mut rect = rect(NativeSize::from_size(size, scale));
        // SAFETY: the frame is alive, and so is a view that has one.
        match unsafe { frame.resizeView(view.as_ptr(), &mut rect) } == kResultOk {
            true => Ok(()),
            false => Err("the host refuses".into()),
        }
    }

    fn destroyed(&mut self) {}
}

/// Wakes the run loop for the window's thread, where it has one of its own.
struct Caller(Arc<Notices>);

impl HostMainThreadCaller for Caller {
    fn call_main_thread(&mut self) {
        self.0.wake();
    }
}

fn rect(size: NativeSize<u32>) -> ViewRect {
    ViewRect {
        left: 0,
        top: 0,
        right: size.width as i32,
        bottom: size.height as i32,
    }
}

/// The size of a rectangle that has one.
fn size(rect: &ViewRect) -> Option<NativeSize<u32>> {
    let side = |from: i32, to: i32| u32::try_from(to.checked_sub(from)?).ok().filter(|&s| s > 0);
    Some(NativeSize {
        width: side(rect.left, rect.right)?,
        height: side(rect.top, rect.bottom)?,
    })
}

/// The window that the host names.
///
/// # Safety
///
/// `kind` is null or a C string.
unsafe fn parent(window: *mut c_void, kind: FIDString) -> Option<ParentWindowHandle> {
    if kind.is_null() {
        return None;
    }
    // SAFETY: all four are C strings.
    let is = |known| unsafe { CStr::from_ptr(kind) == CStr::from_ptr(known) };
    if is(kPlatformTypeX11EmbedWindowID) {
        (!window.is_null()).then_some(ParentWindowHandle::XlibWindow(window as usize as _))
    } else if is(kPlatformTypeNSView) {
        NonNull::new(window).map(ParentWindowHandle::AppKitNsView)
    } else if is(kPlatformTypeHWND) {
        NonZeroIsize::new(window as isize).map(ParentWindowHandle::Win32Hwnd)
    } else {
        None
    }
}

/// The kind of window that this system has.
const KIND: FIDString = if cfg!(target_os = "windows") {
    kPlatformTypeHWND
} else if cfg!(target_os = "macos") {
    kPlatformTypeNSView
} else {
    kPlatformTypeX11EmbedWindowID
};

impl Pane {
    /// Does what the window's thread has left for this one.
    fn attend(&self) {
        let Ok(window) = self.window.try_borrow() else {
            return;
        };
        if let Some(window) = &*window {
            window.handle.host_main_thread_callback(&window.window);
        }
    }

    /// Closes the window; false when there is none, or it is at work further up the stack.
    fn close(&self) -> bool {
        let window = match self.window.try_borrow_mut() {
            Ok(mut window) => window.take(),
            Err(_) => None,
        };
        let closed = window.is_some();
        // A window whose thread has panicked says so here, and the host need not hear it.
        let _ = catch_unwind(AssertUnwindSafe(|| drop(window)));
        closed
    }
}

impl View {
    fn open(&self, parent: ParentWindowHandle) -> Option<OpenWindow> {
        #[cfg(target_os = "linux")]
        crate::guard::pinned::pin_graphics();
        let gestures = Gestures {
            values: Arc::clone(&self.values),
            notices: Arc::clone(&self.notices),
        };
        let host = HostMethods {
            callbacks: Box::new(Frame(Rc::downgrade(&self.pane))),
            main_thread_caller: Box::new(Caller(Arc::clone(&self.notices))),
        };
        let scale = self.pane.scale.get();
        let context = GuiContext::new(Arc::new(gestures));
        let spawn = || {
            self.editor
                .spawn(Some(parent), false, scale, context, Some(host))
        };
        let window = catch_unwind(AssertUnwindSafe(spawn)).ok()?.ok()?;
        window.handle.show(&window.window).ok()?;
        Some(window)
    }

    fn close(&self) -> tresult {
        let closed = self.pane.close();
        self.notices.let_go();
        match closed {
            true => kResultOk,
            false => kResultFalse,
        }
    }

    /// Pixels: what the window has, or would have.
    fn size(&self) -> NativeSize<u32> {
        let window = self.pane.window.try_borrow();
        if let Some(window) = window.as_deref().ok().and_then(Option::as_ref) {
            let size = window.window.size();
            return NativeSize::from_logical_or_physical(size.logical, size.physical);
        }
        let size = self.editor.size();
        let scale = self.pane.scale.get().unwrap_or(1.0);
        NativeSize {
            width: (f64::from(size.width) * scale).round() as u32,
            height: (f64::from(size.height) * scale).round() as u32,
        }
    }

    #[cfg(target_os = "linux")]
    fn watch(&self, frame: Option<&ComPtr<IPlugFrame>>) {
        // The old registration ends before the new one begins.
        self.watch.replace(None);
        let pane = Rc::downgrade(&self.pane);
        let attend = move || {
            if let Some(pane) = pane.upgrade() {
                pane.attend();
            }
        };
        let run_loop = frame.and_then(ComPtr::cast);
        let watch = run_loop.and_then(|run_loop| {
            super::run_loop::Watch::new(run_loop, Arc::clone(&self.notices), Rc::new(attend))
        });
        self.watch.replace(watch);
    }

    #[cfg(not(target_os = "linux"))]
    fn watch(&self, _frame: Option<&ComPtr<IPlugFrame>>) {}
}

impl Drop for View {
    fn drop(&mut self) {
        self.pane.view.set(None);
        self.close();
        self.watch(None);
    }
}

impl IPlugViewTrait for View {
    unsafe fn isPlatformTypeSupported(&self, kind: FIDString) -> tresult {
        // SAFETY: the host's pointer; ours is a C string.
        match !kind.is_null() && unsafe { CStr::from_ptr(kind) == CStr::from_ptr(KIND) } {
            true => kResultOk,
            false => kResultFalse,
        }
    }

    unsafe fn attached(&self, window: *mut c_void, kind: FIDString) -> tresult {
        // SAFETY: the host's arguments.
        let Some(parent) = (unsafe { parent(window, kind) }) else {
            return kInvalidArgument;
        };
        if !matches!(self.pane.window.try_borrow().as_deref(), Ok(None)) {
            return kResultFalse;
        }
        let Some(window) = self.open(parent) else {
            return kResultFalse;
        };
        self.pane.window.replace(Some(window));
        // It may have asked for something while it was being opened.
        self.pane.attend();
        kResultOk
    }

    unsafe fn removed(&self) -> tresult {
        self.close()
    }

    unsafe fn onWheel(&self, _distance: f32) -> tresult {
        kResultFalse
    }

    unsafe fn onKeyDown(&self, _key: char16, _code: int16, _modifiers: int16) -> tresult {
        kResultFalse
    }

    unsafe fn onKeyUp(&self, _key: char16, _code: int16, _modifiers: int16) -> tresult {
        kResultFalse
    }

    unsafe fn getSize(&self, to: *mut ViewRect) -> tresult {
        if to.is_null() {
            return kInvalidArgument;
        }
        // SAFETY: the host's pointer.
        unsafe { *to = rect(self.size()) };
        kResultOk
    }

    unsafe fn onSize(&self, to: *mut ViewRect) -> tresult {
        // SAFETY: the host's pointer.
        let Some(wanted) = (unsafe { to.as_ref() }).and_then(size) else {
            return kInvalidArgument;
        };
        let Ok(window) = self.pane.window.try_borrow() else {
            return kResultFalse;
        };
        match window
            .as_ref()
            .map(|open| open.handle.set_size(wanted, &open.window))
        {
            Some(Ok(())) => kResultOk,
            _ => kResultFalse,
        }
    }

    unsafe fn onFocus(&self, _state: TBool) -> tresult {
        kResultOk
    }

    unsafe fn setFrame(&self, frame: *mut IPlugFrame) -> tresult {
        // SAFETY: the host's pointer; what is kept counts as an owner.
        let frame = unsafe { ComRef::from_raw(frame) }.map(|frame| frame.to_com_ptr());
        self.watch(frame.as_ref());
        self.pane.frame.replace(frame);
        kResultOk
    }

    unsafe fn canResize(&self) -> tresult {
        match self.editor.resize_hint().can_resize {
            true => kResultOk,
            false => kResultFalse,
        }
    }

    unsafe fn checkSizeConstraint(&self, to: *mut ViewRect) -> tresult {
        // SAFETY: the host's pointer.
        let Some(to) = (unsafe { to.as_mut() }) else {
            return kInvalidArgument;
        };
        let Some(wanted) = size(to) else {
            return kResultFalse;
        };
        let (hint, now) = (self.editor.resize_hint(), self.size());
        let scale = self.pane.scale.get();
        let window = self.pane.window.try_borrow();
        // The window toolkit keeps to the limits for a scale of 1, whatever the host's scale is.
        let fits = match (window.as_deref().ok().and_then(Option::as_ref), scale) {
            (Some(open), None) => open.handle.adjust_size(wanted, &open.window),
            (_, scale) => Some(hint.adjust_size(wanted, now, scale.unwrap_or(1.0))),
        };
        let fits = fits.unwrap_or(wanted);
        to.right = to.left + fits.width as i32;
        to.bottom = to.top + fits.height as i32;
        kResultOk
    }
}

impl IPlugViewContentScaleSupportTrait for View {
    /// A scale that comes before the window is there waits for it.
    unsafe fn setContentScaleFactor(&self, factor: ScaleFactor) -> tresult {
        let factor = f64::from(factor);
        if !factor.is_finite() || factor <= 0.0 {
            return kInvalidArgument;
        }
        self.pane.scale.set(Some(factor));
        let Ok(window) = self.pane.window.try_borrow() else {
            return kResultFalse;
        };
        let set = |open: &OpenWindow| {
            let set = open.handle.set_fallback_scale_factor(factor, &open.window);
            set.is_ok()
        };
        match window.as_ref().is_none_or(set) {
            true => kResultOk,
            false => kResultFalse,
        }
    }
}
