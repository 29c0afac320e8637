//! VST3: a drum that is picked in the window.

use crate::own_process::in_own_process;
use crate::picking::{BLOCK, Host, PACE, click_a_row, play_four_times};
use crate::vst3::frame::Frame;
use crate::vst3::host::{Render, RenderSetup, Vst3, block, bus};
use crate::vst3::objects::{Changes, Points, Said, number};
use crate::vst3::window::{detach, open, turn};
use plumbline_hosting::{Instance, SavedMeasurement, Window};
use std::time::Duration;
use vst3::Steinberg::Vst::SpeakerArr::kStereo;
use vst3::Steinberg::Vst::{IAudioProcessorTrait, IEditControllerTrait, IParameterChanges};
use vst3::Steinberg::{IPlugView, kResultOk};
use vst3::{ComPtr, ComWrapper};

struct Playing {
    view: Option<ComPtr<IPlugView>>,
    frame: ComWrapper<Frame>,
    plugin: Vst3,
    /// Calls of the handler that have been passed on.
    passed_on: usize,
    /// What goes to the plugin with the next block.
    due: Vec<Points>,
}

impl Playing {
    fn set(&mut self, id: u32, value: f64) {
        self.due.push(Points {
            id,
            points: vec![(0, value)],
        });
    }

    /// What the window has set since the last block goes to the plugin with the next.
    fn pass_on(&mut self) {
        let heard = self.plugin.restart.1.lock().unwrap().clone();
        for heard in &heard[self.passed_on..] {
            if let Said::Value(id, value) = heard.said {
                self.set(id, value);
            }
        }
        self.passed_on = heard.len();
    }
}

impl Drop for Playing {
    fn drop(&mut self) {
        self.view.take().iter().for_each(detach);
    }
}

impl Host for Playing {
    fn start(state: Option<&[u8]>) -> Self {
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
        let mut playing = Self {
            view: None,
            frame: ComWrapper::new(Frame::default()),
            plugin,
            passed_on: 0,
            due: Vec::new(),
        };
        playing.set(number("measure"), 1.0);
        playing
    }

    fn play(&mut self, [mut first, mut second, mut kick]: [Vec<f32>; 3]) {
        let mut out = [[0.0; BLOCK]; 2];
        for at in (0..first.len()).step_by(BLOCK) {
            let frames = BLOCK.min(first.len() - at);
            let mut main = [&mut first, &mut second].map(|channel| channel[at..].as_mut_ptr());
            let mut side = [kick[at..].as_mut_ptr(); 2];
            let mut outputs = out.each_mut().map(|channel| channel.as_mut_ptr());
            let mut inputs = [bus(&mut main), bus(&mut side)];
            let mut outputs = [bus(&mut outputs)];
            let changes = ComWrapper::new(Changes::of(std::mem::take(&mut self.due)));
            let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
            let mut block = block(frames, &mut inputs, &mut outputs);
            block.inputParameterChanges = changes.as_ptr();
            // SAFETY: the channels are as long as the block says.
            let result = unsafe { self.plugin.processor.process(&mut block) };
            assert_eq!(result, kResultOk);
            turn(&self.frame, PACE);
            self.pass_on();
        }
    }

    fn open_window(&mut self, window: &Window) {
        self.view = Some(open(&self.plugin, &self.frame, window));
    }

    fn wait(&mut self, time: Duration) {
        turn(&self.frame, time);
    }

    fn save(&mut self) -> Vec<u8> {
        self.plugin.save()
    }

    fn measurement(&mut self) -> SavedMeasurement {
        let state: serde_json::Value = serde_json::from_slice(&self.plugin.save()).unwrap();
        let measurement = state["fields"]["measurement"].as_str().unwrap();
        serde_json::from_str(measurement).unwrap()
    }

    fn drum(&mut self) -> String {
        let (controller, id) = (&self.plugin.controller, number("drum"));
        let mut words = [0; 128];
        // SAFETY: the pointer is valid.
        unsafe {
            let value = controller.getParamNormalized(id);
            let result = controller.getParamStringByValue(id, value, &mut words);
            assert_eq!(result, kResultOk);
        }
        let letters = words.iter().take_while(|letter| **letter != 0);
        String::from_utf16_lossy(&letters.map(|letter| *letter as u16).collect::<Vec<_>>())
    }
}

#[test]
fn a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take() {
    in_own_process(
        "vst3::picking::a_row_that_is_clicked_is_the_drum_and_is_found_in_another_take",
        click_a_row::<Playing>,
    );
}

#[test]
fn the_drum_that_is_played_four_times_is_the_drum_and_looks_as_in_clap() {
    in_own_process(
        "vst3::picking::the_drum_that_is_played_four_times_is_the_drum_and_looks_as_in_clap",
        || {
            let [asked, counted] = play_four_times::<Playing>();
            let [asked_in_clap, counted_in_clap] = play_four_times::<Instance>();
            assert!(asked == asked_in_clap, "asked for");
            assert!(counted == counted_in_clap, "counted down");
        },
    );
}
