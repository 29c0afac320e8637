//! The VST3 window at scales of the host's: its picture, its smallest size, and the hand.

use crate::own_process::{in_own_process, settled};
use crate::scaled::{check, drag};
use crate::vst3::frame::Frame;
use crate::vst3::objects::{Said, number};
use crate::vst3::traps::{played, read, started};
use crate::vst3::window::{attach, detach, fit, turn, view};
use plumbline_hosting::Window;
use std::time::Duration;
use vst3::ComWrapper;
use vst3::Steinberg::{
    IPlugFrame, IPlugViewContentScaleSupport, IPlugViewContentScaleSupportTrait, IPlugViewTrait,
    ViewRect, kResultOk,
};

#[test]
fn the_picture_and_the_hand_follow_the_scale() {
    in_own_process(
        "vst3::scale::the_picture_and_the_hand_follow_the_scale",
        || {
            let window = Window::open("Plumbline", (0, 0)).expect("a window");
            let mut usual = None;
            for scale in [1.0, 2.0, 1.5] {
                let plugin = started();
                let frame = ComWrapper::new(Frame::default());
                let pointer = frame.to_com_ptr::<IPlugFrame>().unwrap();
                let view = view(&plugin, pointer.as_ptr());
                let scaled = view.cast::<IPlugViewContentScaleSupport>().expect("scales");
                // SAFETY: plain data. Before the window is there: the framework forgets such a scale.
                let told = unsafe { scaled.setContentScaleFactor(scale as f32) };
                assert_eq!(told, kResultOk);
                fit(&view, &window);
                attach(&view, &window);
                let picture = settled(&window);
                let [from, to] = drag(scale);
                window.drag(from, to).expect("a drag");
                turn(&frame, Duration::from_millis(300));
                let mut least = ViewRect {
                    left: 0,
                    top: 0,
                    right: 1,
                    bottom: 1,
                };
                // SAFETY: the pointer is valid.
                let result = unsafe { view.checkSizeConstraint(&mut least) };
                assert_eq!(result, kResultOk);
                detach(&view);
                let wanted = ((720.0 * scale) as i32, (460.0 * scale) as i32);
                assert_eq!((least.right, least.bottom), wanted);
                let heard = plugin.restart.1.lock().unwrap().clone();
                let begins = |said: Said| said == Said::Begin(number("output"));
                assert!(heard.iter().any(|heard| begins(heard.said)), "{heard:?}");
                played(&plugin, 64, vec![]);
                let level = read(&plugin, "output");
                let (small, usual_level) = usual.get_or_insert((picture.clone(), level));
                if scale != 1.0 {
                    check(small, &picture, scale);
                }
                assert!(
                    (level - *usual_level).abs() < 0.01,
                    "{level}, not {usual_level}"
                );
            }
        },
    );
}
