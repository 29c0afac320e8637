//! VST3: what the host is told, and when: a new latency, something to save, what the parameters are.

use crate::buffers::pointers::BLOCK;
use crate::hang::wait_until;
use crate::simulated_take::{FARTHER, SimulatedTake};
use crate::vst3::host::{Vst3, bus};
use crate::vst3::objects::{Heard, Points, Said};
use crate::vst3::traps::{played, point, read, started};
use std::sync::atomic::Ordering::Relaxed;
use std::thread;
use std::time::Duration;
use vst3::Steinberg::Vst::ParameterInfo_::ParameterFlags_::kIsList;
use vst3::Steinberg::Vst::{IEditControllerTrait, ParameterInfo};
use vst3::Steinberg::kResultOk;

#[test]
fn a_drag_of_reach_leaves_the_audio_on_and_is_followed_once_the_hand_is_still() {
    let plugin = started();
    let latency = plugin.latency();
    played(&plugin, BLOCK, vec![]);
    let steady = |changes: Vec<Points>| {
        let [first, _] = played(&plugin, BLOCK, changes);
        first.iter().all(|x| *x != 0.0)
    };
    plugin.restart.0.store(0, Relaxed);
    for step in 1..=200 {
        let value = f64::from(step) / 400.0;
        assert!(steady(vec![point("reach", 0, value)]), "silent at {step}");
        thread::sleep(Duration::from_millis(1));
    }
    assert_eq!(plugin.latency(), latency, "while it is dragged");
    wait_until(Duration::from_millis(1), || {
        played(&plugin, BLOCK, vec![]);
        plugin.latency() != latency
    });
    assert_eq!(plugin.latency(), latency + 720);
}

#[test]
fn a_measurement_that_arrives_is_something_to_save() {
    let plugin = started();
    let [first, second, _] = SimulatedTake {
        strokes: 4,
        ..FARTHER
    }
    .channels();
    played(&plugin, BLOCK, vec![point("measure", 0, 1.0)]);
    plugin.restart.1.lock().unwrap().clear();
    for (first, second) in first.chunks_exact(BLOCK).zip(second.chunks_exact(BLOCK)) {
        let mut input = [first.to_vec(), second.to_vec()];
        let mut output = [vec![0.0; BLOCK], vec![0.0; BLOCK]];
        let mut main = input.each_mut().map(|c| c.as_mut_ptr());
        let mut out = output.each_mut().map(|c| c.as_mut_ptr());
        plugin.process(BLOCK, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
        thread::sleep(Duration::from_micros(500 * BLOCK as u64 / 48));
    }
    let told = || {
        // A host that shows a value calls from its main thread.
        read(&plugin, "output");
        plugin.restart.1.lock().unwrap().clone()
    };
    let is_told = |heard: &Heard| heard.said == Said::Unsaved;
    let is_heard = wait_until(Duration::from_millis(10), || told().iter().any(is_told));
    assert!(is_heard, "not told");
    let own = thread::current().id();
    let heard = told();
    let unsaved = heard.iter().filter(|heard| is_told(heard));
    assert!(
        unsaved
            .map(|heard| heard.thread)
            .all(|thread| thread == own)
    );
}

#[test]
fn choices_are_said_to_be_lists_and_numbers_have_units() {
    let plugin = Vst3::new();
    // SAFETY: plain data.
    let count = unsafe { plugin.controller.getParameterCount() };
    let text = |letters: &[u16]| {
        let end = letters.iter().position(|letter| *letter == 0);
        String::from_utf16_lossy(&letters[..end.unwrap_or(letters.len())])
    };
    for index in 0..count {
        // SAFETY: plain data that the plugin fills.
        let mut info: ParameterInfo = unsafe { std::mem::zeroed() };
        // SAFETY: the pointer is valid.
        let result = unsafe { plugin.controller.getParameterInfo(index, &mut info) };
        assert_eq!(result, kResultOk);
        let (name, unit) = (text(&info.title), text(&info.units));
        let list = info.flags & kIsList != 0;
        // A choice of two is one all the same.
        let of_two = ["Mode", "Match", "Equalisation"].contains(&&*name);
        assert_eq!(list, info.stepCount > 1 || of_two, "{name}");
        // The bare number of what can be off is in its text.
        let bare = ["Spot in print", "Tape noise", "Null point at bar"].contains(&&*name);
        assert_eq!(
            unit.is_empty(),
            info.stepCount > 0 || bare,
            "{name} in {unit:?}"
        );
    }
}
