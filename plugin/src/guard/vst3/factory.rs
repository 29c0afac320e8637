//! The library's entry for VST3 hosts: makes guarded instances.

use super::Guarded;
use crate::instance::Plumbline;
use nice_plug::wrapper::vst3::PluginInfo;
use std::ffi::c_void;
use vst3::Steinberg::{
    FIDString, FUnknown, IPluginFactory, IPluginFactory2, IPluginFactory2Trait, IPluginFactory3,
    IPluginFactory3Trait, IPluginFactoryTrait, PClassInfo, PClassInfo2, PClassInfoW, PFactoryInfo,
    TUID, int32, kInvalidArgument, kResultOk, tresult,
};
use vst3::{Class, ComWrapper};

/// Makes one class of plugin.
struct Factory(PluginInfo);

impl Class for Factory {
    type Interfaces = (IPluginFactory, IPluginFactory2, IPluginFactory3);
}

impl Factory {
    /// Fills what the host points to, for the only class there is.
    ///
    /// # Safety
    ///
    /// `to` is null or can be written.
    unsafe fn fill<T>(&self, index: int32, to: *mut T, value: fn(&PluginInfo) -> T) -> tresult {
        if index != 0 || to.is_null() {
            return kInvalidArgument;
        }
        // SAFETY: as promised by the caller.
        unsafe { *to = value(&self.0) };
        kResultOk
    }
}

impl IPluginFactoryTrait for Factory {
    unsafe fn getFactoryInfo(&self, info: *mut PFactoryInfo) -> tresult {
        // SAFETY: the host's pointer.
        unsafe { self.fill(0, info, PluginInfo::create_factory_info) }
    }

    unsafe fn countClasses(&self) -> int32 {
        1
    }

    unsafe fn getClassInfo(&self, index: int32, info: *mut PClassInfo) -> tresult {
        // SAFETY: the host's pointer.
        unsafe { self.fill(index, info, PluginInfo::create_class_info) }
    }

    unsafe fn createInstance(
        &self,
        class: FIDString,
        interface: FIDString,
        instance: *mut *mut c_void,
    ) -> tresult {
        if class.is_null() || interface.is_null() || instance.is_null() {
            return kInvalidArgument;
        }
        // SAFETY: class ids are 16 bytes.
        if unsafe { *class.cast::<[u8; 16]>() } != *self.0.cid {
            return kInvalidArgument;
        }
        crate::guard::begin();
        let guarded = ComWrapper::new(Guarded::new());
        let Some(unknown) = guarded.as_com_ref::<FUnknown>() else {
            return kInvalidArgument;
        };
        let unknown = unknown.as_ptr();
        // SAFETY: the instance is alive; a successful query keeps it so.
        unsafe { ((*(*unknown).vtbl).queryInterface)(unknown, interface.cast::<TUID>(), instance) }
    }
}

impl IPluginFactory2Trait for Factory {
    unsafe fn getClassInfo2(&self, index: int32, info: *mut PClassInfo2) -> tresult {
        // SAFETY: the host's pointer.
        unsafe { self.fill(index, info, PluginInfo::create_class_info_2) }
    }
}

impl IPluginFactory3Trait for Factory {
    unsafe fn getClassInfoUnicode(&self, index: int32, info: *mut PClassInfoW) -> tresult {
        // SAFETY: the host's pointer.
        unsafe { self.fill(index, info, PluginInfo::create_class_info_unicode) }
    }

    unsafe fn setHostContext(&self, _context: *mut FUnknown) -> tresult {
        kResultOk
    }
}

/// The library's factory, one reference for the caller.
#[unsafe(no_mangle)]
extern "system" fn GetPluginFactory() -> *mut c_void {
    let factory = Factory(PluginInfo::for_plugin::<Plumbline>());
    ComWrapper::new(factory)
        .to_com_ptr::<IPluginFactory>()
        .map_or(std::ptr::null_mut(), |factory| factory.into_raw().cast())
}

/// The library has been loaded, on Linux and its relatives.
#[unsafe(no_mangle)]
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
extern "C" fn ModuleEntry(_library: *mut c_void) -> bool {
    true
}

/// The library will be unloaded, on Linux and its relatives.
#[unsafe(no_mangle)]
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
extern "C" fn ModuleExit() -> bool {
    true
}

/// The library has been loaded, on macOS.
#[unsafe(no_mangle)]
#[cfg(target_os = "macos")]
extern "C" fn bundleEntry(_bundle: *mut c_void) -> bool {
    true
}

/// The library will be unloaded, on macOS.
#[unsafe(no_mangle)]
#[cfg(target_os = "macos")]
extern "C" fn bundleExit() -> bool {
    true
}

/// The library has been loaded, on Windows.
#[unsafe(no_mangle)]
#[cfg(target_os = "windows")]
extern "system" fn InitDll() -> bool {
    true
}

/// The library will be unloaded, on Windows.
#[unsafe(no_mangle)]
#[cfg(target_os = "windows")]
extern "system" fn ExitDll() -> bool {
    true
}
