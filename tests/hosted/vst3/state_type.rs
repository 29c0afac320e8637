//! The attributes of a stream, of which a host sets one: what the state in it is for.

use std::ffi::{CStr, c_void};
use vst3::Class;
use vst3::Steinberg::Vst::{IAttributeList, IAttributeListTrait, TChar};
use vst3::Steinberg::{int64, kNotImplemented, kResultFalse, kResultOk, tresult, uint32};

/// `PresetAttributes::kStateType`.
const NAME: &CStr = c"StateType";

/// The kind of state.
pub struct StateType(pub &'static str);

impl Class for StateType {
    type Interfaces = (IAttributeList,);
}

type Id = *const std::ffi::c_char;

impl IAttributeListTrait for StateType {
    unsafe fn getString(&self, id: Id, to: *mut TChar, bytes: uint32) -> tresult {
        // SAFETY: the plugin's C string.
        if unsafe { CStr::from_ptr(id) } != NAME {
            return kResultFalse;
        }
        let most = bytes as usize / size_of::<TChar>();
        let units = self.0.encode_utf16().chain([0]).take(most);
        for (at, unit) in units.enumerate() {
            // SAFETY: within what the plugin has room for.
            unsafe { *to.add(at) = unit as TChar };
        }
        kResultOk
    }

    unsafe fn setInt(&self, _id: Id, _value: int64) -> tresult {
        kNotImplemented
    }

    unsafe fn getInt(&self, _id: Id, _value: *mut int64) -> tresult {
        kResultFalse
    }

    unsafe fn setFloat(&self, _id: Id, _value: f64) -> tresult {
        kNotImplemented
    }

    unsafe fn getFloat(&self, _id: Id, _value: *mut f64) -> tresult {
        kResultFalse
    }

    unsafe fn setString(&self, _id: Id, _string: *const TChar) -> tresult {
        kNotImplemented
    }

    unsafe fn setBinary(&self, _id: Id, _data: *const c_void, _bytes: uint32) -> tresult {
        kNotImplemented
    }

    unsafe fn getBinary(&self, _id: Id, _data: *mut *const c_void, _bytes: *mut uint32) -> tresult {
        kResultFalse
    }
}
