//! `moduleinfo.json` in the VST3: what a host learns of the plugin without loading it.

use std::fs;
use std::path::Path;

use anyhow::Context;
use serde_json::{Value, json};

use crate::failure::Outcome;

/// The plugin's class, as its factory says it; VST3 writes the 16 bytes as hexadecimal digits.
const CLASS_ID: &[u8; 16] = b"PlumblineOverhds";
/// As the factory says them.
const NAME: &str = "Plumbline";
const SUBCATEGORIES: [&str; 3] = ["Fx", "Delay", "Tools"];
const SDK: &str = "VST 3.6.14";

/// Writes it into the bundle, where it is not there already as it should be.
pub fn write(bundle: &Path) -> Outcome {
    let folder = bundle.join("Contents/Resources");
    let (path, text) = (
        folder.join("moduleinfo.json"),
        format!("{:#}\n", module_info()),
    );
    if fs::read_to_string(&path).is_ok_and(|there| there == text) {
        return Ok(());
    }
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

fn module_info() -> Value {
    let version = env!("CARGO_PKG_VERSION");
    let id: String = CLASS_ID.iter().map(|byte| format!("{byte:02X}")).collect();
    json!({
        "Name": NAME,
        "Version": version,
        "Factory Info": {
            "Vendor": NAME,
            "URL": "",
            "E-Mail": "",
            "Flags": {
                "Unicode": true,
                "Classes Discardable": false,
                "Component Non Discardable": false,
            },
        },
        "Classes": [{
            "CID": id,
            "Category": "Audio Module Class",
            "Name": NAME,
            "Vendor": NAME,
            "Version": version,
            "SDKVersion": SDK,
            "Sub Categories": SUBCATEGORIES,
            // kSimpleModeSupported: edit controller and component are one object.
            "Class Flags": 2,
            "Cardinality": i32::MAX,
            "Snapshots": [],
        }],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the plugin tells its factory.
    const FORMATS: &str = include_str!("../../../plugin/src/instance/formats.rs");

    #[test]
    fn it_says_what_the_factory_says_and_lies_where_hosts_look() {
        let bundle = std::env::temp_dir().join(format!("module-info-{}", std::process::id()));
        write(&bundle).unwrap();
        let path = bundle.join("Contents/Resources/moduleinfo.json");
        let info: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
        fs::remove_dir_all(&bundle).unwrap();
        let class = &info["Classes"][0];
        assert_eq!(class["CID"], "506C756D626C696E654F766572686473");
        assert!(FORMATS.contains(std::str::from_utf8(CLASS_ID).unwrap()));
        for word in ["Fx", "Delay", "Tools"] {
            assert!(
                FORMATS.contains(&format!("Vst3SubCategory::{word}")),
                "{word}"
            );
        }
        assert_eq!(class["Sub Categories"], json!(["Fx", "Delay", "Tools"]));
        assert_eq!(info["Version"], env!("CARGO_PKG_VERSION"));
        assert_eq!(class["Category"], "Audio Module Class");
    }
}
