//! The drum that was picked by hand, as the session keeps it: by what it sounds like, so that another take has it too.

use plumbline_dsp::measurement::Signature;
use serde::Deserialize;
use serde_json::{Map, Value};

/// Where it stands among what is saved.
const KEY: &str = "picked_drum";

/// Writes it over what was there.
pub fn write_picked(picked: Signature, saved: &mut Map<String, Value>) {
    saved.insert(KEY.into(), picked.levels_db.to_vec().into());
}

/// Reads it; `None` where it is missing or damaged.
pub fn read_picked(saved: &Map<String, Value>) -> Option<Signature> {
    let levels_db = <[f32; 10]>::deserialize(saved.get(KEY)?).ok()?;
    levels_db
        .iter()
        .all(|level| level.is_finite())
        .then_some(Signature { levels_db })
}
