//! What the window asks of a VST3 host: drags of a parameter.

use super::notices::{Notice, Notices};
use super::values::Values;
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContextInner;
use nice_plug::params::internals::ParamPtr;
use nice_plug::plugin::PluginState;
use std::collections::BTreeMap;
use std::sync::Arc;
use vst3::Steinberg::Vst::RestartFlags_::kLatencyChanged;

/// One instance's end of it.
pub(super) struct Gestures {
    pub values: Arc<Values>,
    pub notices: Arc<Notices>,
}

impl Gestures {
    fn tell(&self, parameter: ParamPtr, notice: impl FnOnce(u32) -> Notice) {
        if let Some(number) = self.values.parameters.number_of(parameter) {
            self.notices.tell(notice(number));
        }
    }
}

impl GuiContextInner for Gestures {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Vst3
    }

    unsafe fn raw_begin_set_parameter(&self, parameter: ParamPtr) {
        self.tell(parameter, Notice::Begin);
    }

    unsafe fn raw_set_parameter_normalized(&self, parameter: ParamPtr, normalized: f32) {
        self.tell(parameter, |number| {
            let value = f64::from(normalized);
            self.values.tell(number, value);
            Notice::Value(number, value)
        });
    }

    unsafe fn raw_end_set_parameter(&self, parameter: ParamPtr) {
        self.tell(parameter, Notice::End);
    }

    /// The window keeps no presets of its own.
    fn get_state(&self) -> PluginState {
        PluginState {
            version: String::new(),
            params: BTreeMap::new(),
            fields: BTreeMap::new(),
        }
    }

    fn set_state(&self, _state: PluginState) {}

    fn request_restart(&self) {
        self.notices.tell(Notice::Restart(kLatencyChanged));
    }
}
