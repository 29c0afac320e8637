//! What a VST3 host loads a state for, as far as its stream says.

use crate::params::Purpose;
use vst3::ComRef;
use vst3::Steinberg::Vst::{IAttributeListTrait, IStreamAttributes, IStreamAttributesTrait};
use vst3::Steinberg::{IBStream, kResultOk};

/// `PresetAttributes::kStateType`, and what it is for a session: `StateType::kProject`.
const STATE_TYPE: &std::ffi::CStr = c"StateType";
const PROJECT: &str = "Project";

/// A stream that says nothing is a session's.
///
/// # Safety
///
/// `stream` is null or the host's.
pub(super) unsafe fn purpose(stream: *mut IBStream) -> Purpose {
    // SAFETY: as promised by the caller.
    match unsafe { state_type(stream) } {
        Some(kind) if kind != PROJECT => Purpose::Preset,
        _ => Purpose::Session,
    }
}

/// # Safety
///
/// As for [`purpose`].
unsafe fn state_type(stream: *mut IBStream) -> Option<String> {
    let mut text = [0; 128];
    // SAFETY: as promised by the caller; the size is in bytes.
    let result = unsafe {
        let attributes = ComRef::from_raw(stream)?.cast::<IStreamAttributes>()?;
        let list = ComRef::from_raw(attributes.getAttributes())?;
        list.getString(
            STATE_TYPE.as_ptr(),
            text.as_mut_ptr(),
            size_of_val(&text) as u32,
        )
    };
    let end = text.iter().position(|&unit| unit == 0)?;
    let kind = char::decode_utf16(text[..end].iter().copied())
        .collect::<Result<String, _>>()
        .ok()?;
    (result == kResultOk && !kind.is_empty()).then_some(kind)
}
