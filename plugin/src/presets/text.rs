//! Presets as text: a first line with the format's number, then name, sentence and one setting a line.

use super::preset::{Preset, PresetError};
#[cfg(feature = "editor")]
use std::fmt::Write;

/// How a file begins; the number of the format follows.
const FIRST_LINE: &str = "Plumbline preset, format ";
/// The format that is written here.
const FORMAT: u32 = 1;
/// What a file's name ends with.
#[cfg(feature = "editor")]
pub const ENDING: &str = "plumbline";

/// As a file holds it.
#[cfg(feature = "editor")]
pub fn write(preset: &Preset) -> String {
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut text = format!("{FIRST_LINE}{FORMAT}\nname: {}\n", one_line(&preset.name));
    if !preset.about.is_empty() {
        let _ = writeln!(text, "about: {}", one_line(&preset.about));
    }
    for (id, value) in &preset.settings {
        let _ = writeln!(text, "{id} = {value}");
    }
    text
}

/// What a file holds. Empty lines and those that begin with # count for nothing.
pub fn read(text: &str) -> Result<Preset, PresetError> {
    let mut lines = text.trim_start_matches('\u{feff}').lines();
    let format = lines
        .next()
        .and_then(|first| first.strip_prefix(FIRST_LINE));
    let format: Option<u32> = format.and_then(|format| format.trim().parse().ok());
    match format {
        Some(FORMAT) => {}
        Some(newer) if newer > FORMAT => return Err(PresetError::Newer(newer)),
        _ => return Err(PresetError::NoPreset),
    }
    let mut preset = Preset::default();
    for (number, line) in lines.enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if let Some(name) = line.strip_prefix("name:") {
            preset.name = name.trim().to_owned();
        } else if let Some(about) = line.strip_prefix("about:") {
            preset.about = about.trim().to_owned();
        } else {
            let (id, value) = line.split_once('=').ok_or(PresetError::Line(number + 2))?;
            let setting = (id.trim().to_owned(), value.trim().to_owned());
            preset.settings.push(setting);
        }
    }
    Ok(preset)
}

#[cfg(all(test, feature = "editor"))]
mod tests {
    use super::*;

    fn preset() -> Preset {
        Preset {
            name: "Mine".into(),
            about: "For the second\nchorus.".into(),
            settings: [("range", "2.5"), ("curve", "Reel"), ("sync", "On")]
                .map(|(id, value)| (id.to_owned(), value.to_owned()))
                .to_vec(),
        }
    }

    #[test]
    fn what_is_written_is_read() {
        let text = write(&preset());
        let want = Preset {
            about: "For the second chorus.".into(),
            ..preset()
        };
        assert_eq!(read(&text).unwrap(), want);
        let edited = text.replace('\n', "\r\n\r\n# by hand\r\n");
        assert_eq!(read(&edited).unwrap(), want);
    }

    #[test]
    fn bad_files_say_what_is_wrong() {
        for (text, want) in [
            ("", PresetError::NoPreset),
            ("RIFF....WAVE", PresetError::NoPreset),
            ("Plumbline preset, format x", PresetError::NoPreset),
            (
                "Plumbline preset, format 7\nrange = 3",
                PresetError::Newer(7),
            ),
            (
                "Plumbline preset, format 1\nname: a\nrange 3",
                PresetError::Line(3),
            ),
        ] {
            assert_eq!(read(text).unwrap_err(), want, "{text}");
        }
    }
}
