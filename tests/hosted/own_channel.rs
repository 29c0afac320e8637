//! A kick on a channel of its own, an overhead on its side chain: aligned on the kick's own strokes, not on the snare's bleed.

use crate::library::{open, run};
use crate::simulated_kit::RATE;
use crate::vst3::host::{Render, RenderSetup, Vst3, bus};
use plumbline_hosting::{
    Layout, SavedMeasurement, Session, SimulatedKit, SimulatedMicrophone, Way,
};
use vst3::Steinberg::Vst::SpeakerArr::kMono;
use vst3::Steinberg::kResultOk;

const BLOCK: usize = 480;
/// The kick arrives so much later in the overhead, samples; the snare's bleed, earlier.
const KICK_LATER: f64 = 270.0;
/// Snare against kick in the kick's microphone: -13 dB.
const BLEED: f32 = 0.15;

/// The kick's microphone and the overhead.
fn take() -> [Vec<f32>; 2] {
    let kit = SimulatedKit {
        seed: 3,
        strokes: 16,
    };
    let way = |samples, gain| vec![Way { samples, gain }];
    let microphones = [
        (way(150.0, BLEED), way(10.0, 0.7), 71),
        (way(100.0, 0.3), way(10.0 + KICK_LATER, 0.3), 72),
    ];
    microphones.map(|(snare, kick, floor)| kit.heard(&SimulatedMicrophone { snare, kick, floor }))
}

fn in_clap() -> SavedMeasurement {
    let mut instance = open(Session {
        layout: Layout::MonoSpotMono,
        offline: true,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    let [kick, overhead] = take();
    run(&mut instance, &mut [kick], &[overhead], || BLOCK);
    instance.measurement().unwrap().expect("a measurement")
}

fn in_vst3() -> SavedMeasurement {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(kMono, Some(kMono)), kResultOk);
    plugin.start_on(RenderSetup {
        render: Render::Offline,
        sample_rate: RATE as f64,
        longest: BLOCK,
    });
    let [mut kick, mut overhead] = take();
    let mut out = [0.0; BLOCK];
    for at in (0..kick.len() - BLOCK).step_by(BLOCK) {
        let mut main = [kick[at..].as_mut_ptr()];
        let mut side = [overhead[at..].as_mut_ptr()];
        let mut outputs = [out.as_mut_ptr()];
        let mut inputs = [bus(&mut main), bus(&mut side)];
        let measure = [("measure", 1.0)];
        let result = plugin.process(BLOCK, &mut inputs, &mut [bus(&mut outputs)], &measure);
        assert_eq!(result, kResultOk);
    }
    let state: serde_json::Value = serde_json::from_slice(&plugin.save()).unwrap();
    let measurement = state["fields"]["measurement"].as_str();
    serde_json::from_str(measurement.expect("a measurement")).unwrap()
}

#[test]
fn it_is_aligned_on_the_kick() {
    for (format, saved) in [("CLAP", in_clap()), ("VST3", in_vst3())] {
        let chosen = &saved.drums[usize::from(saved.chosen.expect("a drum"))];
        let lag = saved.spot_to_first.as_ref().expect("a lag").attack_s * RATE as f64;
        let held_back = saved.applied.first_s * RATE as f64;
        println!(
            "{format}: {}, {} hits, channel {lag:.2} samples after the overhead, held back by {held_back:.2}",
            chosen.kind, saved.hits
        );
        assert_eq!((&*chosen.kind, &*saved.why), ("kick", "channels_own"));
        assert!((7..=8).contains(&saved.hits), "{format}: {}", saved.hits);
        assert!((lag + KICK_LATER).abs() < 0.5, "{format}: {lag}");
        assert!((held_back + lag).abs() < 1e-3, "{format}: {held_back}");
    }
}
