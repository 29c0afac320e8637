//! The VST3 window at scales of the host's: its picture, its smallest size, and the hand.

use crate::hand::take_hold;
use crate::own_process::{in_own_process, settled};
use crate::scaled::check;
use crate::vst3::frame::Frame;
use crate::vst3::objects::{Said, number};
use crate::vst3::traps::started;
use crate::vst3::window::{attach, detach, fit, turn, view};
use plumbline_hosting::Window;
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
            let mut usual = None;
            for scale in [1.0, 2.0, 1.5] {
                let window = Window::open("Plumbline", (0, 0)).expect("a window");
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
                check(usual.get_or_insert(picture), &window, scale);
                take_hold(&window, scale, |time| {
                    turn(&frame, time);
                    let heard = plugin.restart.1.lock().unwrap();
                    let begin = Said::Begin(number("output"));
                    heard.iter().any(|heard| heard.said == begin)
                });
                window.let_go().expect("a hand");
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
                // The smallest window is so many points, whatever the scale.
                let wanted = ((720.0 * scale) as i32, (460.0 * scale) as i32);
                assert_eq!((least.right, least.bottom), wanted);
            }
        },
    );
}
