//! What the guard has nothing to say about goes to the framework as it is.

use super::notices::Notice;
use super::purpose::purpose;
#[cfg(feature = "editor")]
use super::view;
use super::{Guarded, Relaxed, kInvalidArgument, kResultOk};
use crate::params::load_for;
use nice_plug::wrapper::vst3::Wrapper;
#[cfg(feature = "editor")]
use std::ffi::CStr;
use std::ffi::c_char;
use std::ptr::null_mut;
use vst3::Steinberg::Vst::ChannelContext::IInfoListenerTrait;
use vst3::Steinberg::Vst::ParameterInfo_::ParameterFlags_::kIsList;
use vst3::Steinberg::Vst::RestartFlags_::kLatencyChanged;
use vst3::Steinberg::Vst::{
    BusDirection, BusInfo, CString, IAttributeList, IAudioProcessorTrait, IComponentHandler,
    IComponentTrait, IEditControllerTrait, IProcessContextRequirementsTrait, IUnitInfoTrait,
    IoMode, MediaType, ParamID, ParamValue, ParameterInfo, ProgramListID, ProgramListInfo,
    RoutingInfo, String128, TChar, UnitID, UnitInfo,
};
use vst3::Steinberg::{
    FUnknown, IBStream, IPlugView, IPluginBaseTrait, TBool, TUID, int16, int32, tresult, uint32,
};

/// Methods of one interface, passed on with their arguments.
macro_rules! forward {
    ($interface:ident: $(fn $name:ident($($argument:ident: $kind:ty),*) $(-> $result:ty)?;)*) => {$(
        unsafe fn $name(&self, $($argument: $kind),*) $(-> $result)? {
            // SAFETY: the host's arguments, for the framework to judge.
            unsafe { <Wrapper<crate::instance::Plumbline> as $interface>::$name(&self.framework, $($argument),*) }
        }
    )*};
}

impl IPluginBaseTrait for Guarded {
    forward! { IPluginBaseTrait:
        fn initialize(context: *mut FUnknown) -> tresult;
        fn terminate() -> tresult;
    }
}

impl IComponentTrait for Guarded {
    forward! { IComponentTrait:
        fn getControllerClassId(class: *mut TUID) -> tresult;
        fn setIoMode(mode: IoMode) -> tresult;
        fn getBusCount(media: MediaType, direction: BusDirection) -> int32;
        fn getRoutingInfo(input: *mut RoutingInfo, output: *mut RoutingInfo) -> tresult;
    }

    /// With what the controller was told and no block has heard of yet.
    unsafe fn getState(&self, state: *mut IBStream) -> tresult {
        self.values.settle();
        // SAFETY: the host's argument, for the framework to judge.
        unsafe { IComponentTrait::getState(&self.framework, state) }
    }

    /// A session with another mode or reach wants another latency.
    unsafe fn setState(&self, state: *mut IBStream) -> tresult {
        // SAFETY: the host's argument, for the framework to judge.
        let result = unsafe {
            load_for(purpose(state), || {
                IComponentTrait::setState(&self.framework, state)
            })
        };
        self.values.forget();
        self.query.request_repaint();
        // SAFETY: no arguments.
        let latency = unsafe { self.framework.getLatencySamples() };
        let changed = self.loading.loaded(latency, || {
            // SAFETY: no block is being processed, and none will be until this returns.
            unsafe {
                self.set_active(0);
                self.set_active(1);
                self.framework.setProcessing(self.processing.load(Relaxed));
            }
        });
        if changed {
            self.notices.tell(Notice::Restart(kLatencyChanged));
        }
        result
    }

    unsafe fn getBusInfo(
        &self,
        media: MediaType,
        direction: BusDirection,
        index: int32,
        info: *mut BusInfo,
    ) -> tresult {
        // SAFETY: the host's argument.
        unsafe { self.bus_info(media, (direction, index), info) }
    }

    unsafe fn activateBus(
        &self,
        media: MediaType,
        direction: BusDirection,
        index: int32,
        state: TBool,
    ) -> tresult {
        self.switch(media, (direction, index), state)
    }

    unsafe fn setActive(&self, state: TBool) -> tresult {
        let result = self.set_active(state);
        self.loading.set_active(state != 0);
        result
    }
}

impl IEditControllerTrait for Guarded {
    forward! { IEditControllerTrait:
        fn setComponentState(state: *mut IBStream) -> tresult;
        fn setState(state: *mut IBStream) -> tresult;
        fn getState(state: *mut IBStream) -> tresult;
        fn getParameterCount() -> int32;
        fn getParamStringByValue(id: ParamID, normalized: ParamValue, text: *mut String128) -> tresult;
        fn getParamValueByString(id: ParamID, text: *mut TChar, normalized: *mut ParamValue) -> tresult;
        fn normalizedParamToPlain(id: ParamID, normalized: ParamValue) -> ParamValue;
        fn plainParamToNormalized(id: ParamID, plain: ParamValue) -> ParamValue;
    }

    /// The framework takes the number of parameters for one of them, and does not say which are lists of names.
    unsafe fn getParameterInfo(&self, index: int32, info: *mut ParameterInfo) -> tresult {
        // SAFETY: the host's arguments, for the framework to judge.
        unsafe {
            if info.is_null() || !(0..self.framework.getParameterCount()).contains(&index) {
                return kInvalidArgument;
            }
            let result = self.framework.getParameterInfo(index, info);
            let parameters = &self.values.parameters;
            let place = parameters.index((*info).id);
            if place.is_some_and(|place| parameters.is_choice(place)) {
                (*info).flags |= kIsList as int32;
            }
            result
        }
    }

    unsafe fn getParamNormalized(&self, id: ParamID) -> ParamValue {
        self.notices.called();
        self.values.shown(id).unwrap_or_default()
    }

    unsafe fn setParamNormalized(&self, id: ParamID, value: ParamValue) -> tresult {
        self.notices.called();
        if !self.values.tell(id, value) {
            return kInvalidArgument;
        }
        self.query.request_repaint();
        kResultOk
    }

    unsafe fn setComponentHandler(&self, handler: *mut IComponentHandler) -> tresult {
        // SAFETY: the host's argument.
        unsafe { self.notices.set_handler(handler) };
        kResultOk
    }

    #[cfg(feature = "editor")]
    unsafe fn createView(&self, name: *const c_char) -> *mut IPlugView {
        // SAFETY: the host's pointer is null or a C string.
        let editor = !name.is_null() && unsafe { CStr::from_ptr(name) } == c"editor";
        match (self.query.editor(), editor) {
            (Some(editor), true) => view::view(editor, &self.values, &self.notices),
            _ => null_mut(),
        }
    }

    #[cfg(not(feature = "editor"))]
    unsafe fn createView(&self, _name: *const c_char) -> *mut IPlugView {
        null_mut()
    }
}

impl IProcessContextRequirementsTrait for Guarded {
    forward! { IProcessContextRequirementsTrait:
        fn getProcessContextRequirements() -> uint32;
    }
}

impl IUnitInfoTrait for Guarded {
    forward! { IUnitInfoTrait:
        fn getUnitCount() -> int32;
        fn getUnitInfo(index: int32, info: *mut UnitInfo) -> tresult;
        fn getProgramListCount() -> int32;
        fn getProgramListInfo(index: int32, info: *mut ProgramListInfo) -> tresult;
        fn getProgramName(list: ProgramListID, program: int32, name: *mut String128) -> tresult;
        fn getProgramInfo(list: ProgramListID, program: int32, attribute: CString, value: *mut String128) -> tresult;
        fn hasProgramPitchNames(list: ProgramListID, program: int32) -> tresult;
        fn getProgramPitchName(list: ProgramListID, program: int32, pitch: int16, name: *mut String128) -> tresult;
        fn getSelectedUnit() -> UnitID;
        fn selectUnit(unit: UnitID) -> tresult;
        fn getUnitByBus(media: MediaType, direction: BusDirection, bus: int32, channel: int32, unit: *mut UnitID) -> tresult;
        fn setUnitProgramData(list_or_unit: int32, program: int32, data: *mut IBStream) -> tresult;
    }
}

impl IInfoListenerTrait for Guarded {
    forward! { IInfoListenerTrait:
        fn setChannelContextInfos(list: *mut IAttributeList) -> tresult;
    }
}
