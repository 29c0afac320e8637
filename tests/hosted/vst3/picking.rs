//! VST3: a drum that is clicked in the kit map, kept in the session, and found in another take.

use crate::own_process::{in_own_process, settled};
use crate::picking::{ELSEWHERE, ONE_CLICK, SECOND_ROW, check_kick};
use crate::simulated_kit::{KICK_GAP, kit, kit_with};
use crate::vst3::frame::Frame;
use crate::vst3::host::{Render, RenderSetup, Vst3, bus};
use crate::vst3::objects::{Said, number};
use crate::vst3::window::{attach, detach, fit, turn, view};
use plumbline_hosting::{SavedMeasurement, Window};
use std::thread::sleep;
use std::time::Duration;
use vst3::ComWrapper;
use vst3::Steinberg::Vst::SpeakerArr::kStereo;
use vst3::Steinberg::{IPlugFrame, kResultOk};

const BLOCK: usize = 480;
/// A block of 10 ms is played in this time: no faster than the analysis can follow.
const PACE: Duration = Duration::from_millis(3);

fn started(state: Option<&[u8]>) -> Vst3 {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(kStereo, Some(kStereo)), kResultOk);
    if let Some(state) = state {
        assert_eq!(plugin.load(state), kResultOk);
    }
    plugin.start_on(RenderSetup {
        render: Render::Realtime,
        sample_rate: 48_000.0,
        longest: BLOCK,
    });
    plugin
}

/// Plays a take and a pause; what is measured then.
fn play(plugin: &Vst3, take: [Vec<f32>; 4], changes: &[(&'static str, f64)]) -> SavedMeasurement {
    let [mut first, mut second, mut kick, _] = take;
    for channel in [&mut first, &mut second, &mut kick] {
        channel.resize(channel.len() + 50 * BLOCK, 0.0);
    }
    let mut out = [[0.0; BLOCK]; 2];
    for at in (0..first.len() - BLOCK).step_by(BLOCK) {
        let mut main = [&mut first, &mut second].map(|channel| channel[at..].as_mut_ptr());
        let mut side = [kick[at..].as_mut_ptr(); 2];
        let mut outputs = out.each_mut().map(|channel| channel.as_mut_ptr());
        let mut inputs = [bus(&mut main), bus(&mut side)];
        let result = plugin.process(BLOCK, &mut inputs, &mut [bus(&mut outputs)], changes);
        assert_eq!(result, kResultOk);
        sleep(PACE);
    }
    let state: serde_json::Value = serde_json::from_slice(&plugin.save()).unwrap();
    let measurement = state["fields"]["measurement"].as_str().unwrap();
    serde_json::from_str(measurement).unwrap()
}

/// The value that the window has set the drum to, which the host passes on with the next block.
fn drum_that_was_set(plugin: &Vst3) -> f64 {
    let heard = plugin.restart.1.lock().unwrap();
    let value = heard.iter().rev().find_map(|heard| match heard.said {
        Said::Value(id, value) if id == number("drum") => Some(value),
        _ => None,
    });
    value.expect("the host hears of the drum")
}

#[test]
fn a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take() {
    in_own_process(
        "vst3::picking::a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take",
        || {
            let plugin = started(None);
            let before = play(&plugin, kit(), &[("measure", 1.0)]);
            assert_eq!(before.why, "snare");
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            let frame = ComWrapper::new(Frame::default());
            let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
            let view = view(&plugin, pointer.as_ptr());
            fit(&view, &window);
            attach(&view, &window);
            settled(&window);
            window.click(SECOND_ROW).expect("a click");
            turn(&frame, ONE_CLICK);
            let picked = [("measure", 1.0), ("drum", drum_that_was_set(&plugin))];
            let silence = || vec![0.0; 50 * BLOCK];
            let pause = [silence(), silence(), silence(), silence()];
            check_kick("VST3, clicked", &play(&plugin, pause, &picked), KICK_GAP);
            detach(&view);
            let other = started(Some(&plugin.save()));
            let found = play(&other, kit_with(1, ELSEWHERE), &[("measure", 1.0)]);
            check_kick("VST3, another take", &found, ELSEWHERE[1]);
        },
    );
}
