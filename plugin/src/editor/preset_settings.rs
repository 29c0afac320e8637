//! What a preset holds, as the window's controls.

use super::frame::Control;
use super::history::{Change, Value};
use crate::params::{PlumblineParams, may_hold};
use crate::presets::{Preset, resolve};
use nice_plug::params::Params;
use nice_plug::params::internals::ParamPtr;

/// Where everything stands that a preset may hold.
pub fn held_values(params: &PlumblineParams) -> Vec<Value> {
    let map = params.param_map().into_iter();
    let held = map.filter(|(id, ..)| may_hold(id));
    held.filter_map(|(_, parameter, _)| {
        // SAFETY: `params` is borrowed for as long as its parameter is read.
        let value = unsafe { parameter.unmodulated_plain_value() };
        Some((control_of(parameter, params)?, value))
    })
    .collect()
}

/// What calling up a preset changes; nothing when anything in it is wrong.
pub fn changes(preset: &Preset, params: &PlumblineParams) -> Result<Vec<Change>, String> {
    let settings = resolve(preset, params).map_err(|why| why.to_string())?;
    let changes = settings.into_iter().filter_map(|setting| {
        let parameter = setting.parameter;
        // SAFETY: `params` is borrowed for as long as its parameter is read.
        let (before, after) = unsafe {
            (
                parameter.unmodulated_plain_value(),
                parameter.preview_plain(setting.normalized),
            )
        };
        let control = control_of(parameter, params)?;
        Some(Change {
            control,
            before,
            after,
        })
    });
    Ok(changes
        .filter(|change| change.before != change.after)
        .collect())
}

fn control_of(parameter: ParamPtr, params: &PlumblineParams) -> Option<Control> {
    let all = Control::ALL.iter().copied();
    all.into_iter()
        .find(|control| control.parameter(params) == parameter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presets::STARTING_POINTS;

    #[test]
    fn everything_that_a_preset_holds_is_a_control_of_the_window() {
        let params = PlumblineParams::untouched();
        let held = params
            .param_map()
            .into_iter()
            .filter(|(id, ..)| may_hold(id));
        assert_eq!(held_values(&params).len(), held.count());
        for start in STARTING_POINTS.iter().filter(|start| start.is_sweep()) {
            let changes = changes(&start.preset(), &params).unwrap();
            let mode = changes
                .iter()
                .find(|change| change.control == Control::Mode);
            assert_eq!(mode.map(|change| change.after), Some(1.0), "{}", start.name);
        }
    }
}
