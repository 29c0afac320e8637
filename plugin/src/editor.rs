//! The window: a drafting sheet that shows where the microphones are and what the correction does.
//!
//! Pages are functions of a [`Frame`] that give back [`Action`]s. Only this file knows the host and the window.

mod align_controls;
mod align_page;
mod bounds;
mod comb_view;
mod control;
mod course_view;
mod deck_words;
mod decks;
mod field;
mod foot;
mod frame;
mod header;
mod ink;
mod lag_view;
mod list;
mod mono_sum;
mod pen;
mod placement;
mod plan_view;
mod push;
mod reading;
mod sheet;
mod strip;
mod sweep_controls;
mod sweep_page;
mod switch;
#[cfg(test)]
mod tests;
mod trail;
mod unit;
mod words;

use crate::desk::Desk;
use crate::params::PlumblineParams;
use crate::telemetry::{
    Deck, Onlooker, Picture, Reels, SlotReader, SlotWriter, Song, Telemetry, slot,
};
use bounds::{HEIGHTS, WIDTHS, within};
use control::Action;
use decks::Decks;
use frame::Frame;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::{LogicalSize, NativeSize};
use nice_plug::editor::{Editor, HostMethods, ParentWindowHandle, ResizeHint, SpawnedEditor};
use nice_plug_egui::baseview::{HandlerError, WindowSize};
use nice_plug_egui::{
    EguiEditorHandle, EguiEditorState, EguiNiceSettings, NiceEguiApp, RepaintNotifier,
    create_egui_editor,
};
use plumbline_dsp::decks::song_position::Transport;
use sheet::{Sheet, View};
use std::error::Error;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, Mutex, PoisonError, RwLock};
use trail::Trail;

/// Whether a window is open, and its bell.
#[derive(Default)]
pub struct Glass {
    open: AtomicBool,
    bell: RepaintNotifier,
}

impl Onlooker for Glass {
    fn looks(&self) -> bool {
        self.open.load(Relaxed)
    }

    fn wake(&self) {
        self.bell.request_repaint();
    }
}

/// The audio thread's way to the window.
pub struct ToWindow {
    decks: SlotWriter<Reels>,
    glass: Arc<Glass>,
    /// What the open window was shown last.
    shown: Reels,
}

impl ToWindow {
    /// Shows where the moving deck is, when somebody looks and there is news: the deck has moved, or the song has.
    /// Wait-free.
    pub fn show(&mut self, deck: Deck, place: Transport) {
        if !self.glass.looks() {
            // A window that opens is shown everything anew.
            self.shown = Reels::default();
            return;
        }
        let song = Song::of(place);
        let reels = Reels { deck, song };
        let runs = deck.is_some() && song == Song::Runs;
        if runs || !reels.stand_as(&self.shown) {
            self.shown = reels;
            self.decks.write(reels);
            self.glass.wake();
        }
    }
}

/// What one instance shows, and the audio thread's end of it.
pub fn scene(
    params: &Arc<PlumblineParams>,
    telemetry: &Arc<Telemetry>,
    pictures: SlotReader<Picture>,
) -> (Scene, ToWindow) {
    let (to_decks, decks) = slot();
    let glass = Arc::<Glass>::default();
    let to_window = ToWindow {
        decks: to_decks,
        glass: Arc::clone(&glass),
        shown: Reels::default(),
    };
    let scene = Scene {
        params: Arc::clone(params),
        telemetry: Arc::clone(telemetry),
        pictures: Arc::new(Mutex::new(pictures)),
        decks: Arc::new(Mutex::new(decks)),
        glass,
    };
    (scene, to_window)
}

/// What a window looks at. One instance has one, whether a window is open or not.
#[derive(Clone)]
pub struct Scene {
    pub params: Arc<PlumblineParams>,
    pub telemetry: Arc<Telemetry>,
    pub pictures: Arc<Mutex<SlotReader<Picture>>>,
    pub decks: Arc<Mutex<SlotReader<Reels>>>,
    pub glass: Arc<Glass>,
}

/// Opens windows for the host.
pub struct PlumblineEditor {
    scene: Scene,
}

impl PlumblineEditor {
    pub fn new(scene: Scene) -> Self {
        Self { scene }
    }

    fn desk(&self) -> Desk {
        desk(&self.scene.params.desk)
    }
}

fn desk(desk: &RwLock<Desk>) -> Desk {
    within(*desk.read().unwrap_or_else(PoisonError::into_inner))
}

impl Editor for PlumblineEditor {
    type Handle = EguiEditorHandle;

    fn spawn(
        &self,
        parent: Option<ParentWindowHandle>,
        wait_for_parent: bool,
        fallback_scale_factor: Option<f64>,
        gui_context: GuiContext,
        host: Option<HostMethods>,
    ) -> Result<SpawnedEditor<EguiEditorHandle>, Box<dyn Error>> {
        let desk = self.desk();
        let size = LogicalSize::new(desk.width, desk.height);
        let settings = EguiNiceSettings::new()
            .with_tile("Plumbline")
            .with_resize_hint(self.resize_hint());
        let editor = create_egui_editor(
            EguiEditorState::from_size(size, desk.zoom),
            self.scene.glass.bell.clone(),
            settings,
            Window::new(self.scene.clone()),
        );
        let editor = editor.ok_or("the toolkit made no editor")?;
        editor.spawn(
            parent,
            wait_for_parent,
            fallback_scale_factor,
            gui_context,
            host,
        )
    }

    fn size(&self) -> NativeSize<u32> {
        let desk = self.desk();
        let size = LogicalSize::new(desk.width * desk.zoom, desk.height * desk.zoom);
        NativeSize::from_size(size.into(), 1.0)
    }

    fn resize_hint(&self) -> ResizeHint {
        ResizeHint::resizable().with_min_max_logical_size(
            Some(LogicalSize::new(*WIDTHS.start(), *HEIGHTS.start())),
            Some(LogicalSize::new(*WIDTHS.end(), *HEIGHTS.end())),
        )
    }
}

/// One open window.
struct Window {
    scene: Scene,
    view: View,
    /// The newest one that was drawn.
    picture: Picture,
    /// Where the moving deck has been.
    trail: Trail,
    song: Song,
    host: Option<GuiContext>,
}

impl Window {
    fn new(scene: Scene) -> Self {
        Self {
            scene,
            view: View::default(),
            picture: Picture::default(),
            trail: Trail::default(),
            song: Song::default(),
            host: None,
        }
    }

    fn frame(&mut self) -> Frame {
        let scene = &self.scene;
        if let Some(picture) = newest(&scene.pictures) {
            self.picture = picture;
        }
        if let Some(reels) = newest(&scene.decks) {
            self.trail.follow(reels.deck);
            self.song = reels.song;
        }
        let look = Frame::look(&scene.params, &scene.telemetry, &self.picture);
        let decks = Decks::look(&scene.params, &self.trail, self.song);
        Frame { decks, ..look }
    }

    fn act(&mut self, context: &egui::Context, action: Action) {
        match action {
            Action::Begin(_) | Action::Set(..) | Action::End(_) => self.tell_host(action),
            Action::Paper(paper) => self.desk(|desk| desk.paper = paper),
            Action::Zoom(zoom) => context.set_zoom_factor(zoom),
            Action::Page(page) => self.view.page = page,
            Action::Figure(figure) => self.view.figure = figure,
            Action::Graph(graph) => self.view.graph = graph,
        }
        context.request_repaint();
    }

    /// The gestures that undo and automation are recorded from.
    fn tell_host(&self, action: Action) {
        let Some(host) = &self.host else {
            return;
        };
        let params = &self.scene.params;
        // SAFETY: the parameters live as long as the scene.
        unsafe {
            match action {
                Action::Begin(control) => host.raw_begin_set_parameter(control.parameter(params)),
                Action::End(control) => host.raw_end_set_parameter(control.parameter(params)),
                Action::Set(control, value) => {
                    let parameter = control.parameter(params);
                    let normalized = parameter.preview_normalized(value);
                    host.raw_set_parameter_normalized(parameter, normalized);
                }
                _ => {}
            }
        }
    }

    fn desk(&self, change: impl FnOnce(&mut Desk)) {
        let desk = &self.scene.params.desk;
        change(&mut desk.write().unwrap_or_else(PoisonError::into_inner));
    }
}

/// The newest value of a slot, if it has not been seen yet.
fn newest<T: Copy>(slot: &Mutex<SlotReader<T>>) -> Option<T> {
    slot.lock()
        .unwrap_or_else(PoisonError::into_inner)
        .take()
        .copied()
}

impl NiceEguiApp for Window {
    fn build(
        &mut self,
        _context: egui::Context,
        host: GuiContext,
        _frame: &mut nice_plug_egui::Frame,
    ) -> Result<(), HandlerError> {
        self.host = Some(host);
        self.scene.glass.open.store(true, Relaxed);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut nice_plug_egui::Frame) {
        let frame = self.frame();
        let paper = desk(&self.scene.params.desk).paper;
        let mut actions = Vec::new();
        sheet::sheet(
            ui,
            &Sheet {
                frame,
                paper,
                view: self.view,
            },
            &mut actions,
        );
        let context = ui.ctx().clone();
        for action in actions {
            self.act(&context, action);
        }
    }

    /// `size` is without the zoom.
    fn resized(&mut self, size: WindowSize) {
        self.desk(|desk| {
            desk.width = size.logical.width as f32;
            desk.height = size.logical.height as f32;
        });
    }

    fn zoom_factor_changed(&mut self, zoom: f32) {
        self.desk(|desk| desk.zoom = zoom);
    }
}

impl Drop for Window {
    fn drop(&mut self) {
        self.scene.glass.open.store(false, Relaxed);
    }
}
