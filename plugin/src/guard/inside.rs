//! What the guard knows of the plugin inside the framework's wrapper: its parameters, and what its window shows.
//!
//! The framework makes the plugin itself and keeps it to itself. Both halves are made on one thread, one after the other.

#[cfg(feature = "editor")]
use crate::editor::Scene;
use crate::params::PlumblineParams;
use std::cell::RefCell;
use std::sync::Arc;

thread_local! {
    static LAST: RefCell<Inside> = const { RefCell::new(Inside::NOTHING) };
}

/// The parts of one instance.
pub struct Inside {
    pub params: Option<Arc<PlumblineParams>>,
    #[cfg(feature = "editor")]
    pub scene: Option<Scene>,
}

impl Inside {
    const NOTHING: Self = Self {
        params: None,
        #[cfg(feature = "editor")]
        scene: None,
    };

    /// The instance that this thread has made last, once.
    pub fn take() -> Self {
        LAST.replace(Self::NOTHING)
    }
}

/// Called by every new instance.
pub fn introduce(params: &Arc<PlumblineParams>) {
    LAST.with_borrow_mut(|last| last.params = Some(Arc::clone(params)));
}

/// Called by every new instance that has a window.
#[cfg(feature = "editor")]
pub fn introduce_scene(scene: &Scene) {
    LAST.with_borrow_mut(|last| last.scene = Some(scene.clone()));
}
