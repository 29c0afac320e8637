//! A starting point of the plugin's, asked for by its name.

use anyhow::Context;
use clap::ValueEnum;
use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};
use plumbline_hosting::{Bundle, Instance, Session, StartingPoint};

use super::choices::MotionChoice;
use crate::failure::{Outcome, refuse};

/// What the decks start from.
pub struct Start {
    pub point: StartingPoint,
    /// What moves the moving deck in it.
    pub motion: MotionChoice,
    /// The tape machine in it.
    pub tape: Option<PrintSettings>,
}

impl Start {
    /// The starting point of this name, in small or capital letters.
    ///
    /// # Errors
    ///
    /// When there is none among those of Sweep; the text names all.
    pub fn named(bundle: &Bundle, name: &str) -> Outcome<Self> {
        let mut all = bundle.starting_points()?;
        all.retain(|point| point.features.iter().any(|feature| feature == "sweep"));
        let found = all
            .iter()
            .find(|point| point.name.to_lowercase() == name.to_lowercase());
        let Some(point) = found else {
            let names: Vec<&str> = all.iter().map(|point| point.name.as_str()).collect();
            return refuse(format!(
                "there is no starting point called {name}; there are: {}",
                names.join(", ")
            ));
        };
        let mut instance = bundle.open(&Session::default())?;
        instance.call_up(point)?;
        let motion = instance.text("motion")?;
        Ok(Self {
            motion: MotionChoice::from_str(&motion, true)
                .ok()
                .with_context(|| format!("the plugin has a motion called {motion}"))?,
            tape: tape(&mut instance)?,
            point: point.clone(),
        })
    }
}

fn tape(instance: &mut Instance) -> Outcome<Option<PrintSettings>> {
    if instance.get("print")? < 0.5 {
        return Ok(None);
    }
    let speeds = [TapeSpeed::Cm19, TapeSpeed::Cm38, TapeSpeed::Cm76];
    let curves = [Equalisation::Iec, Equalisation::Nab];
    let hiss_db = match instance.text("hiss")?.as_str() {
        "off" => None,
        _ => Some(instance.get("hiss")?),
    };
    Ok(Some(PrintSettings {
        level_db: instance.get("tape_level")?,
        speed: speeds[instance.get("tape_speed")? as usize % speeds.len()],
        equalisation: curves[instance.get("tape_eq")? as usize % curves.len()],
        hiss_db,
        lineup: Lineup {
            fluxivity_nwb_m: instance.get("tape_fluxivity")?,
            reference_dbfs: instance.get("tape_reference")?,
        },
    }))
}
