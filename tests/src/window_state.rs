//! The window's size and paper in the plugin's saved state.

use crate::instance::Instance;
use crate::saved_state::parse_state;
use anyhow::Result;
use serde_json::{Value, json};

impl Instance {
    /// Stores paper (`light` or `dark`), size in points, and pixels a point, for when the window is opened next.
    pub fn set_window_state(
        &mut self,
        paper: &str,
        (width, height): (u32, u32),
        zoom: f32,
    ) -> Result<()> {
        let mut state = parse_state(&self.save()?)?;
        let window = json!({ "width": width, "height": height, "zoom": zoom, "paper": paper });
        state["fields"]["desk"] = Value::String(window.to_string());
        let json = state.to_string().into_bytes();
        // In front stands the length, as the framework writes it.
        self.load(&[&(json.len() as u64).to_le_bytes(), json.as_slice()].concat())
    }
}
