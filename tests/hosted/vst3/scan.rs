//! What a host does that looks for VST3 plugins: load, ask the factory for its classes, unload.

use crate::alone::alone;
use crate::library::release_library;
use crate::loading::assert_scans;
use libloading::{Library, Symbol};
use std::path::Path;
use vst3::ComPtr;
use vst3::Steinberg::{IPluginFactory, IPluginFactoryTrait, PClassInfo, PFactoryInfo, kResultOk};

#[test]
fn a_scan_is_quick_and_leaves_nothing() {
    alone("vst3::scan::a_scan_is_quick_and_leaves_nothing", || {
        assert_scans("VST3", release_library(), scan);
    });
}

fn scan(library: &Path) {
    // SAFETY: loading a library runs its code; this one is our own, and so are the signatures. What is filled is plain data.
    unsafe {
        let library = Library::new(library).expect("the library loads");
        let entry: Symbol<'_, extern "system" fn() -> *mut IPluginFactory> =
            library.get(b"GetPluginFactory").expect("a VST3 entry");
        let factory = ComPtr::from_raw(entry()).expect("it has a factory");
        let mut about: PFactoryInfo = std::mem::zeroed();
        assert_eq!(factory.getFactoryInfo(&mut about), kResultOk);
        assert_eq!(factory.countClasses(), 1);
        let mut class: PClassInfo = std::mem::zeroed();
        assert_eq!(factory.getClassInfo(0, &mut class), kResultOk);
        drop(factory);
        library.close().expect("it unloads");
    }
}
