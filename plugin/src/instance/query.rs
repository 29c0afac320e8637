//! Answers the guard's questions about an instance.
//!
//! The framework makes the plugin and keeps it to itself; the guard must tell the host the latency before it activates,
//! takes the parameters of a block itself and opens windows.

use crate::audio::{self, Render, Setup};
#[cfg(feature = "editor")]
use crate::editor::{PlumblineEditor, Scene};
#[cfg(feature = "editor")]
use crate::exchange::Display;
use crate::exchange::SessionNews;
use crate::params::PlumblineParams;
use nice_plug::params::Params;
use std::cell::RefCell;
use std::sync::Arc;

thread_local! {
    static LAST: RefCell<InstanceQuery> = const { RefCell::new(InstanceQuery::NOTHING) };
}

/// One instance, as far as the guard needs it.
pub struct InstanceQuery {
    params: Option<Arc<PlumblineParams>>,
    news: Option<Arc<SessionNews>>,
    #[cfg(feature = "editor")]
    scene: Option<Scene>,
}

impl InstanceQuery {
    const NOTHING: Self = Self {
        params: None,
        news: None,
        #[cfg(feature = "editor")]
        scene: None,
    };

    /// Called by every new instance.
    pub fn offer(params: &Arc<PlumblineParams>, news: &Arc<SessionNews>) {
        LAST.with_borrow_mut(|last| {
            last.params = Some(Arc::clone(params));
            last.news = Some(Arc::clone(news));
        });
    }

    /// Called by every new instance that has a window.
    #[cfg(feature = "editor")]
    pub fn offer_scene(scene: &Scene) {
        LAST.with_borrow_mut(|last| last.scene = Some(scene.clone()));
    }

    /// About the instance that this thread has made last, once.
    pub fn take() -> Self {
        LAST.replace(Self::NOTHING)
    }

    /// Samples of latency that an activation at this rate would have.
    pub fn latency(&self, sample_rate: f64) -> u32 {
        let params = self.params.as_ref();
        params.map_or(0, |params| latency_of(params, sample_rate))
    }

    pub fn params(&self) -> Option<Arc<dyn Params>> {
        let params = Arc::clone(self.params.as_ref()?);
        Some(params)
    }

    /// Whom to tell that there is something new to save. He is called on any thread, and must not wait.
    pub fn tell_news_to(&self, listener: impl Fn() + Send + Sync + 'static) {
        if let Some(news) = &self.news {
            news.tell_to(listener);
        }
    }

    /// What opens a window.
    #[cfg(feature = "editor")]
    pub fn editor(&self) -> Option<PlumblineEditor> {
        Some(PlumblineEditor::new(self.scene.clone()?))
    }

    /// The window, if one is open, has something new to show. Wait-free.
    pub fn request_repaint(&self) {
        #[cfg(feature = "editor")]
        if let Some(scene) = &self.scene {
            scene.display.request_repaint();
        }
    }
}

/// The latency is the same for one and two channels.
fn latency_of(params: &PlumblineParams, sample_rate: f64) -> u32 {
    let setup = Setup {
        sample_rate,
        channels: 2,
        mode: params.mode.value(),
        reach_s: params.reach_s(),
        print: params.print.on.value(),
        render: Render::Realtime,
    };
    audio::latency(&setup) as u32
}
