//! Starting points as `.vstpreset` files, which VST3 hosts list in their preset browsers.
//!
//! The layout of the file is that of the VST3 SDK's "Preset Format" page: a head, the chunks, a list of the chunks.

use crate::bundle::Bundle;
use crate::session::Session;
use crate::starting_points::StartingPoint;
use anyhow::{Context, Result};
use serde_json::{Value, json};

/// The plugin's class, as its factory says it; written as hexadecimal digits.
const CLASS_ID: &[u8; 16] = b"PlumblineOverhds";
/// Head: `VST3`, version, class, place of the list.
const HEAD: usize = 4 + 4 + 32 + 8;

impl Bundle {
    /// Every starting point with its file: name, and what the file holds.
    ///
    /// # Errors
    ///
    /// When the plugin tells of no starting points, or does not load one.
    pub fn vst3_presets(&self) -> Result<Vec<(String, Vec<u8>)>> {
        let mut instance = self.open(&Session::default())?;
        let files = self.starting_points()?.into_iter().map(|start| {
            instance.call_up(&start)?;
            let state = held(&instance.save()?, &start)?;
            Ok((start.name.clone(), file(&state, &start)))
        });
        files.collect()
    }
}

/// The state of an instance as a preset: nothing but what the starting point holds.
fn held(saved: &[u8], start: &StartingPoint) -> Result<Vec<u8>> {
    // A CLAP state is its length and JSON.
    let saved: Value = serde_json::from_slice(saved.get(8..).context("a state")?)?;
    let mut params = saved["params"].as_object().context("parameters")?.clone();
    params.retain(|id, _| start.holds.contains(id));
    let preset = json!({
        "version": saved["version"], "params": params, "fields": {"preset": "1"}
    });
    Ok(preset.to_string().into_bytes())
}

fn file(state: &[u8], start: &StartingPoint) -> Vec<u8> {
    let info = info(start).into_bytes();
    let chunks = [(b"Comp", state), (b"Info", &info[..])];
    let mut body: Vec<u8> = Vec::new();
    let mut list = b"List".to_vec();
    list.extend((chunks.len() as i32).to_le_bytes());
    for (name, content) in chunks {
        list.extend(name);
        list.extend(((HEAD + body.len()) as i64).to_le_bytes());
        list.extend((content.len() as i64).to_le_bytes());
        body.extend(content);
    }
    let class: String = CLASS_ID.iter().map(|byte| format!("{byte:02X}")).collect();
    let mut file = b"VST3".to_vec();
    file.extend(1_i32.to_le_bytes());
    file.extend(class.as_bytes());
    file.extend(((HEAD + body.len()) as i64).to_le_bytes());
    file.extend(body);
    file.extend(list);
    file
}

/// What a browser shows of it.
fn info(start: &StartingPoint) -> String {
    let attributes = [
        ("MediaType", "VstPreset"),
        ("PlugInName", "Plumbline"),
        ("PlugInVendor", "Plumbline"),
        ("PlugInCategory", "Fx|Delay|Tools"),
        ("Name", &start.name),
        ("Comment", &start.about),
    ];
    let escaped = |text: &str| {
        let text = text.replace('&', "&amp;").replace('<', "&lt;");
        text.replace('"', "&quot;")
    };
    let attributes = attributes.map(|(id, value)| {
        let value = escaped(value);
        format!("<Attribute id=\"{id}\" value=\"{value}\" type=\"string\" flags=\"\"/>")
    });
    let attributes = attributes.concat();
    format!("<?xml version=\"1.0\" encoding=\"utf-8\"?><MetaInfo>{attributes}</MetaInfo>")
}
