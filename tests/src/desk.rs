//! How the window was left, in the plugin's saved state.

use crate::instance::Instance;
use crate::saved::parse_state;
use anyhow::Result;
use serde_json::{Value, json};

impl Instance {
    /// Leaves the window on this paper (`light` or `dark`) and with this size, points, for when it is opened next.
    pub fn leave_window(&mut self, paper: &str, (width, height): (u32, u32)) -> Result<()> {
        let mut state = parse_state(&self.save()?)?;
        let desk = json!({ "width": width, "height": height, "zoom": 1.0, "paper": paper });
        state["fields"]["desk"] = Value::String(desk.to_string());
        let words = state.to_string().into_bytes();
        // In front stands the length, as the framework writes it.
        self.load(&[&(words.len() as u64).to_le_bytes(), words.as_slice()].concat())
    }
}
