//! What a newer version had saved beside what this one knows: kept as it is, and given back when it is saved again.

use nice_plug::plugin::ParamValue;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Parameters and other content by their ids.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct NewerState {
    pub params: BTreeMap<String, ParamValue>,
    /// JSON.
    pub fields: BTreeMap<String, String>,
}
