//! One open window: reads what the instance shows, draws it, and does what the user asks for.

use super::action::{Action, Note, set_at_once};
use super::bounds::usable;
use super::drawing::apply_theme;
use super::frame::{Control, DeckHistory, Decks, Frame, Tape};
use super::host_presence::Display as HostDisplay;
use super::host_window::ThreadMark;
use super::pages::{Content, View, show};
use super::recall::recall_sheet;
use super::scene::Scene;
use crate::exchange::{Display, TransportState, TripleBufferReader};
use crate::params::{Drum, PlumblineParams};
use crate::session::WindowState;
use nice_plug::context::gui::GuiContext;
use nice_plug::prelude::Param;
use nice_plug_egui::NiceEguiApp;
use nice_plug_egui::baseview::{HandlerError, WindowSize};
use plumbline_dsp::print::level_histogram::LevelHistogram;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

/// One open window.
pub struct Window {
    pub(super) scene: Scene,
    view: View,
    /// Where the moving deck has been.
    history: DeckHistory,
    transport: TransportState,
    /// How loud the take came to the tape.
    levels: LevelHistogram,
    host: Option<GuiContext>,
    /// The toolkit's, once there is a window.
    context: Option<egui::Context>,
    /// Where the host's window is.
    host_display: HostDisplay,
    /// Controls that are taken hold of.
    held: Vec<Control>,
    /// Until it is handed to the thread that the window runs on.
    mark: Option<ThreadMark>,
}

impl Window {
    /// Shows nothing yet.
    pub fn new(scene: Scene, mark: ThreadMark) -> Self {
        Self {
            scene,
            view: View::default(),
            history: DeckHistory::default(),
            transport: TransportState::default(),
            levels: LevelHistogram::default(),
            host: None,
            context: None,
            host_display: HostDisplay::default(),
            held: Vec::new(),
            mark: Some(mark),
        }
    }

    fn frame(&mut self) -> Frame {
        let scene = &self.scene;
        if let Some(decks) = newest(&scene.decks) {
            self.history.follow(decks.deck);
            self.transport = decks.transport;
        }
        if let Some(levels) = newest(&scene.levels) {
            self.levels = levels;
        }
        let versions = self.versions();
        let frame = Frame::read(
            &scene.params,
            &scene.telemetry,
            &scene.params.measurement.pair(),
        );
        let decks = Decks::read(&scene.params, &self.history, self.transport);
        let tape = Tape {
            settings: scene.params.print.settings(),
            levels: self.levels,
        };
        Frame {
            decks,
            tape,
            versions,
            sheet: scene.sheets.status(),
            window: usable(&scene.params.window),
            ..frame
        }
    }

    fn act(&mut self, context: &egui::Context, action: Action) {
        match action {
            Action::Begin(_) | Action::Set(..) | Action::End(_) => self.gesture(action),
            Action::PickDrum(number) => self.pick_drum(number),
            Action::FourHits => self.pick_by_playing(),
            Action::Note(note) => self.note(note),
            Action::SaveSheet => self.save_sheet(),
            Action::CallUp(_)
            | Action::SavePreset
            | Action::OpenPreset
            | Action::Undo
            | Action::Redo
            | Action::Side(_)
            | Action::CopySide => self.change_version(action),
            Action::Lengths(lengths) => self.change_state(|state| state.lengths = lengths),
            Action::Seat(seat) => self.change_state(|state| state.seat = seat),
            Action::Handed(handed) => self.change_state(|state| state.handed = handed),
            Action::Theme(theme) => self.change_state(|state| state.theme = theme),
            Action::Zoom(zoom) => context.set_zoom_factor(zoom),
            Action::Page(page) => self.view.page = page,
            Action::Figure(figure) => self.view.figure = figure,
            Action::Graph(graph) => self.view.graph = graph,
            Action::ControlTab(tab) => self.view.tab = tab,
        }
        context.request_repaint();
    }

    fn gesture(&mut self, action: Action) {
        let mut sides = locked(&self.scene.sides);
        let history = &mut sides.history;
        match action {
            Action::Begin(control) => {
                history.begin(control, self.scene.value(control));
                self.held.push(control);
            }
            Action::Set(control, value) => history.set(control, value),
            Action::End(control) => {
                history.end(control);
                self.held.retain(|&held| held != control);
            }
            _ => {}
        }
        drop(sides);
        self.tell_host(action);
    }

    /// The gestures that undo and automation are recorded from.
    pub(super) fn tell_host(&self, action: Action) {
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

    /// Keeps what the drum sounds like with the session, and asks for it.
    fn pick_drum(&self, number: u8) {
        let params = &self.scene.params;
        let report = params.measurement.report();
        let (Some(drum), Some(host)) = (report.measurement.numbered(number), &self.host) else {
            return;
        };
        params.measurement.pick(drum.signature);
        set_picked(host, params);
    }

    /// Asks for the next four strokes; Measure is switched on for them.
    fn pick_by_playing(&mut self) {
        let params = &self.scene.params;
        let Some(host) = &self.host else {
            return;
        };
        params.measurement.pick_by_playing();
        set_picked(host, params);
        if !params.measure.value() {
            for action in set_at_once(Control::Measure, 1.0) {
                self.gesture(action);
            }
        }
    }

    fn note(&self, note: Note) {
        let store = &self.scene.params.measurement;
        let measurement = store.report().measurement;
        store.change_notes(|notes| match note {
            Note::NameDrum(number, name) => {
                if let Some(drum) = measurement.numbered(number) {
                    notes.name_drum(drum.signature, &name);
                }
            }
            Note::NameOverhead(overhead, name) => notes.name_overhead(overhead, &name),
            Note::Write(line, text) => notes.write(line, &text),
            Note::KeepTarget => notes.keep_target(&measurement),
            Note::DropTarget => notes.drop_target(),
        });
    }

    /// Opens the dialog; whatever comes of it, the host goes on.
    fn save_sheet(&mut self) {
        let params = Arc::clone(&self.scene.params);
        let words = move |control: Control| {
            let parameter = control.parameter(&params);
            // SAFETY: the parameters live as long as `params`.
            unsafe {
                let value = parameter.unmodulated_normalized_value();
                parameter.normalized_value_to_string(value, true)
            }
        };
        let sheet = recall_sheet(&self.frame(), &words, SystemTime::now());
        let display = Arc::clone(&self.scene.display);
        self.scene
            .sheets
            .save(sheet, move || display.request_repaint());
    }

    fn change_state(&self, change: impl FnOnce(&mut WindowState)) {
        let state = &self.scene.params.window;
        change(&mut state.write().unwrap_or_else(PoisonError::into_inner));
    }
}

pub(super) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Sets the drum to the picked one.
fn set_picked(host: &GuiContext, params: &PlumblineParams) {
    let parameter = params.drum.as_ptr();
    let picked = params.drum.preview_normalized(Drum::Picked);
    // SAFETY: the parameters live as long as the scene.
    unsafe {
        host.raw_begin_set_parameter(parameter);
        host.raw_set_parameter_normalized(parameter, picked);
        host.raw_end_set_parameter(parameter);
    }
}

/// The newest value of a triple buffer, if it has not been seen yet.
fn newest<T: Copy>(buffer: &Mutex<TripleBufferReader<T>>) -> Option<T> {
    locked(buffer).take().copied()
}

impl NiceEguiApp for Window {
    fn build(
        &mut self,
        context: egui::Context,
        host: GuiContext,
        _frame: &mut nice_plug_egui::Frame,
    ) -> Result<(), HandlerError> {
        // Before the first picture: letters are drawn for light or dark, and that is settled when a picture begins.
        apply_theme(&context, usable(&self.scene.params.window).theme);
        self.host = Some(host);
        self.context = Some(context);
        self.host_display = HostDisplay::open();
        if let Some(mark) = self.mark.take() {
            mark.keep();
        }
        self.scene.display.open.store(true, Relaxed);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, toolkit: &mut nice_plug_egui::Frame) {
        self.scene.display.frames.fetch_add(1, Relaxed);
        if let Some(preset) = self.scene.presets.take_opened() {
            self.call_up(&preset);
        }
        let theme = usable(&self.scene.params.window).theme;
        let mut actions = Vec::new();
        let content = Content {
            frame: self.frame(),
            theme,
            view: self.view,
        };
        show(ui, &content, &mut actions);
        let context = ui.ctx().clone();
        for action in actions {
            self.act(&context, action);
        }
        // Asked last: what is there is drawn next.
        if !self.host_display.has(&self.scene.display.host_window) {
            context.graphics_mut(|drawn| *drawn = Default::default());
            toolkit.baseview_window().request_close();
        }
    }

    /// `size` is without the toolkit's zoom, which is the window's from the first frame on: a host may resize it before that.
    fn resized(&mut self, size: WindowSize) {
        let counted = self.context.as_ref().map(egui::Context::zoom_factor);
        let zoom = usable(&self.scene.params.window).zoom;
        let points = |side: f64| side as f32 * counted.unwrap_or(1.0) / zoom;
        self.change_state(|state| {
            state.width = points(size.logical.width);
            state.height = points(size.logical.height);
        });
    }

    fn zoom_factor_changed(&mut self, zoom: f32) {
        self.change_state(|state| state.zoom = zoom);
    }
}

impl Drop for Window {
    /// A window that is closed in the middle of a drag lets go: the host would stay in touch for ever.
    fn drop(&mut self) {
        for control in std::mem::take(&mut self.held) {
            locked(&self.scene.sides).history.end(control);
            self.tell_host(Action::End(control));
        }
        self.scene.display.open.store(false, Relaxed);
    }
}
