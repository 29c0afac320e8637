//! A hosted instance's parameters: plain values and words in, plain values and words out.

use crate::events::{Change, Parameter};
use crate::instance::Instance;
use crate::saved_state;
use anyhow::{Context, Result, anyhow, bail};
use clack_extensions::params::{ParamInfoBuffer, ParamInfoFlags, PluginParams};
use clack_extensions::remote_controls::{PluginRemoteControls, RemoteControlsPageBuffer};
use clack_host::prelude::*;
use std::ffi::CString;

impl Instance {
    /// Queues a plain value (dB, ms, %, 0 or 1, the index of a choice) for the start of the next block.
    pub fn set(&mut self, id: &str, plain: f64) -> Result<()> {
        self.set_at(0, id, plain)
    }

    /// Queues a plain value for a sample of the next block. Those for one block come in the order of their samples.
    pub fn set_at(&mut self, frame: u32, id: &str, plain: f64) -> Result<()> {
        let Parameter { number, stepped } = self.parameter(id)?;
        let value = if stepped {
            plain
        } else {
            self.typed(number, &plain.to_string())
                .with_context(|| format!("{id} does not take {plain}"))?
        };
        self.queue.push(Change {
            frame,
            parameter: number,
            value,
        });
        Ok(())
    }

    /// Queues a value as a user would type it: `3 dB`, `Body`, `as measured`.
    pub fn set_text(&mut self, id: &str, text: &str) -> Result<()> {
        let number = self.parameter(id)?.number;
        let value = self
            .typed(number, text)
            .with_context(|| format!("{id} does not understand \"{text}\""))?;
        self.queue.push(Change {
            frame: 0,
            parameter: number,
            value,
        });
        Ok(())
    }

    /// What the plugin makes of a text.
    fn typed(&mut self, parameter: ClapId, text: &str) -> Result<f64> {
        let params = self.extension::<PluginParams>()?;
        let typed = CString::new(text)?;
        params
            .text_to_value(&self.plugin.plugin_handle(), parameter, &typed)
            .context("not understood")
    }

    /// A parameter's plain value. What is queued counts once a block has been processed.
    pub fn get(&mut self, id: &str) -> Result<f64> {
        let Parameter { number, stepped } = self.parameter(id)?;
        if stepped {
            return self.value(number);
        }
        let state = saved_state::parse_state(&self.save()?)?;
        let value = &state["params"][id];
        let number = value.as_f64().or_else(|| value.get("f32")?.as_f64());
        number.with_context(|| format!("{id} is not in the state as a number: {value}"))
    }

    /// A parameter's value in words, as the host shows it.
    pub fn text(&mut self, id: &str) -> Result<String> {
        let hash = self.parameter(id)?.number;
        let value = self.value(hash)?;
        let params = self.extension::<PluginParams>()?;
        let mut buffer = [0; 256];
        let text = params
            .value_to_text(&self.plugin.plugin_handle(), hash, value, &mut buffer)
            .map_err(|_| anyhow!("{id} has no text"))?;
        Ok(String::from_utf8_lossy(text).into_owned())
    }

    /// The pages that a control surface would show: name, and parameters on it.
    pub fn remote_control_pages(&mut self) -> Result<Vec<(String, usize)>> {
        let controls = self.extension::<PluginRemoteControls>()?;
        let handle = self.plugin.plugin_handle();
        let mut buffer = RemoteControlsPageBuffer::new();
        let mut page = |index| {
            let page = controls.get(&handle, index, &mut buffer)?;
            let name = String::from_utf8_lossy(page.page_name).into_owned();
            Some((name, page.param_ids.iter().flatten().count()))
        };
        Ok((0..controls.count(&handle)).filter_map(&mut page).collect())
    }

    fn value(&mut self, hash: ClapId) -> Result<f64> {
        let params = self.extension::<PluginParams>()?;
        params
            .get_value(&self.plugin.plugin_handle(), hash)
            .context("the plugin does not know its own parameter")
    }

    /// A parameter, by what it is called in saved sessions.
    fn parameter(&mut self, id: &str) -> Result<Parameter> {
        if let Some(known) = self.known.get(id) {
            return Ok(*known);
        }
        let number = ClapId::new(parameter_number(id));
        let params = self.extension::<PluginParams>()?;
        let handle = self.plugin.plugin_handle();
        let mut buffer = ParamInfoBuffer::new();
        for index in 0..params.count(&handle) {
            let info = params.get_info(&handle, index, &mut buffer);
            if let Some(info) = info.filter(|info| info.id == number) {
                let stepped = info.flags.contains(ParamInfoFlags::IS_STEPPED);
                let found = Parameter { number, stepped };
                self.known.insert(id.to_owned(), found);
                return Ok(found);
            }
        }
        bail!("the plugin has no parameter \"{id}\"")
    }
}

/// The number that the framework makes of a parameter's id (a polynomial of its bytes in 31, 31 bits).
pub fn parameter_number(id: &str) -> u32 {
    let times_31 = |hash: u32, byte: u8| hash.wrapping_mul(31).wrapping_add(byte.into());
    id.bytes().fold(0, times_31) & 0x7fff_ffff
}
