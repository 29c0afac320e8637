//! Whatever is on the side chain, or nothing: the overheads are measured, on the drum that is due.

use crate::buffers::clap;
use crate::library::open;
use crate::simulated_kit::{KICK_GAP, RATE, SNARE_GAP, gap_samples, kit};
use crate::vst3::host::{Render, RenderSetup, Vst3, bus, null_bus};
use plumbline_dsp::meters::click::largest_step;
use plumbline_hosting::{Layout, SavedMeasurement, Session, SimulatedKit};
use std::ptr::null_mut;
use std::sync::atomic::Ordering::Relaxed;
use vst3::Steinberg::Vst::SpeakerArr::kStereo;
use vst3::Steinberg::Vst::SpeakerArrangement;
use vst3::Steinberg::kResultOk;

const BLOCK: usize = 512;

/// What a host passes as the side chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum SideChain {
    /// The bus is not in the layout.
    Absent,
    /// The bus is in the layout, and not in the block.
    LeftOut,
    /// Its channel pointers are null.
    Null,
    Silent,
    Kick,
    Snare,
}

const ALL: [SideChain; 6] = [
    SideChain::Absent,
    SideChain::LeftOut,
    SideChain::Null,
    SideChain::Silent,
    SideChain::Kick,
    SideChain::Snare,
];

/// What a run gives: the measurement, the output, and whether the host was asked for a restart.
struct Heard {
    saved: SavedMeasurement,
    out: [Vec<f32>; 2],
    restarts: bool,
}

/// The side chain of a block, as pointers; `None` where it is no buffer.
fn pointers(case: SideChain, spots: &mut [Vec<f32>; 3], at: usize) -> Option<[*mut f32; 2]> {
    let channel = match case {
        SideChain::Silent => 0,
        SideChain::Kick => 1,
        SideChain::Snare => 2,
        SideChain::Absent | SideChain::LeftOut | SideChain::Null => return None,
    };
    Some([spots[channel][at..].as_mut_ptr(); 2])
}

/// The pair, and the spots that there may be: silence, kick, snare.
fn channels() -> ([Vec<f32>; 2], [Vec<f32>; 3]) {
    let [first, second, kick, snare] = kit();
    let silence = vec![0.0; kick.len()];
    ([first, second], [silence, kick, snare])
}

/// The side chain from each sample on, and the level of the spot in the print, dB.
fn in_clap(layout: Layout, spot_db: f64, side_at: impl Fn(usize) -> SideChain) -> Heard {
    let mut instance = open(Session {
        max_block: BLOCK as u32,
        offline: true,
        layout,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    instance.set("spot_level", spot_db).unwrap();
    let quiet = [0.0; BLOCK];
    let [mut left, mut right] = [[0.0; BLOCK]; 2];
    instance
        .process(
            &mut [&mut left, &mut right],
            &vec![&quiet[..]; layout.channels().1],
        )
        .unwrap();
    let (mut pair, mut spots) = channels();
    let mut out = [vec![0.0; pair[0].len()], vec![0.0; pair[0].len()]];
    for at in (0..pair[0].len() - BLOCK).step_by(BLOCK) {
        let case = side_at(at);
        let mut main = pair.each_mut().map(|channel| channel[at..].as_mut_ptr());
        let mut side = pointers(case, &mut spots, at).unwrap_or([null_mut(); 2]);
        let mut outputs = out.each_mut().map(|channel| channel[at..].as_mut_ptr());
        let mut inputs = vec![clap::bus(&mut main)];
        if !matches!(case, SideChain::Absent | SideChain::LeftOut) {
            inputs.push(clap::bus(&mut side));
        }
        clap::process(&instance, BLOCK, &inputs, &mut [clap::bus(&mut outputs)]);
    }
    Heard {
        saved: instance.measurement().unwrap().unwrap(),
        restarts: instance.wants_restart(),
        out,
    }
}

fn in_vst3(
    side: Option<SpeakerArrangement>,
    spot_db: f64,
    side_at: impl Fn(usize) -> SideChain,
) -> Heard {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(kStereo, side), kResultOk);
    plugin.preset("spot_level", spot_db);
    plugin.start_on(RenderSetup {
        render: Render::Offline,
        sample_rate: RATE as f64,
        longest: BLOCK,
    });
    plugin.restart.0.store(0, Relaxed);
    let (mut pair, mut spots) = channels();
    let mut out = [vec![0.0; pair[0].len()], vec![0.0; pair[0].len()]];
    for at in (0..pair[0].len() - BLOCK).step_by(BLOCK) {
        let case = side_at(at);
        let mut main = pair.each_mut().map(|channel| channel[at..].as_mut_ptr());
        let mut outputs = out.each_mut().map(|channel| channel[at..].as_mut_ptr());
        let mut inputs = vec![bus(&mut main)];
        let mut side = pointers(case, &mut spots, at);
        match (&mut side, case) {
            (Some(side), _) => inputs.push(bus(side)),
            (None, SideChain::Null) => inputs.push(null_bus(2)),
            (None, _) => {}
        }
        let measure = [("measure", 1.0)];
        let result = plugin.process(BLOCK, &mut inputs, &mut [bus(&mut outputs)], &measure);
        assert_eq!(result, kResultOk, "{case:?}");
    }
    let state: serde_json::Value = serde_json::from_slice(&plugin.save()).unwrap();
    let measurement = state["fields"]["measurement"]
        .as_str()
        .expect("a measurement");
    Heard {
        saved: serde_json::from_str(measurement).unwrap(),
        restarts: plugin.restart.0.load(Relaxed) != 0,
        out,
    }
}

fn check(case: SideChain, format: &str, saved: &SavedMeasurement) {
    let drums = saved.drums.iter();
    let rows: Vec<_> = drums
        .map(|drum| (&*drum.kind, drum.hits, gap_samples(drum)))
        .collect();
    println!(
        "{format} {case:?}: {}, drum {:?} of {rows:?}",
        saved.why, saved.chosen
    );
    let chosen = &saved.drums[usize::from(saved.chosen.expect("a drum"))];
    assert_eq!(chosen.kind, "snare", "{format} {case:?}");
    // One of the eight may be taken for another drum's.
    assert!((7..=8).contains(&saved.hits), "{format} {case:?}");
    let gap = gap_samples(chosen);
    assert!((gap - SNARE_GAP).abs() < 0.5, "{format} {case:?}: {gap}");
    let why = match case {
        SideChain::Snare => "spots_own",
        _ => "snare",
    };
    assert_eq!(saved.why, why, "{format} {case:?}");
    let kick = saved
        .drums
        .iter()
        .find(|drum| drum.kind == "kick")
        .expect("a kick");
    assert!(
        (gap_samples(kick) - KICK_GAP).abs() < 1.0,
        "{format} {case:?}"
    );
    let own = saved
        .spots_own
        .map(|own| &*saved.drums[usize::from(own)].kind);
    let due = match case {
        SideChain::Kick => Some("kick"),
        SideChain::Snare => Some("snare"),
        _ => None,
    };
    assert_eq!(own, due, "{format} {case:?}");
}

/// Level of a spot that is not in the print, dB.
const OFF: f64 = -48.5;

#[test]
fn the_snare_is_found_whatever_is_on_the_side_chain() {
    for case in ALL {
        let (layout, side) = match case {
            SideChain::Absent => (Layout::Stereo, None),
            _ => (Layout::StereoSpotStereo, Some(kStereo)),
        };
        check(case, "CLAP", &in_clap(layout, OFF, |_| case).saved);
        check(case, "VST3", &in_vst3(side, OFF, |_| case).saved);
    }
}

/// The side chain changes so often.
const CHANGES: usize = 8;
/// No step from sample to sample is larger around a change, where no drum sounds: -60 dB.
const STEP: f64 = 1e-3;

/// The kick, with silence, no buffer and null pointers in between.
const COMING_AND_GOING: [SideChain; 6] = [
    SideChain::Kick,
    SideChain::Silent,
    SideChain::Kick,
    SideChain::LeftOut,
    SideChain::Kick,
    SideChain::Null,
];

/// Samples of the changes: in the pause after every second stroke.
fn change(number: usize) -> usize {
    let pause = 2 * number * SimulatedKit::EVERY + SimulatedKit::EVERY * 5 / 6;
    pause.next_multiple_of(BLOCK)
}

/// While it runs, with the spot in the print: nothing restarts, nothing clicks, and every stroke counts.
#[test]
fn a_side_chain_that_comes_and_goes_changes_nothing_between_the_overheads() {
    let side_at = |at: usize| {
        let passed = (1..=CHANGES).filter(|number| change(*number) <= at).count();
        COMING_AND_GOING[passed % COMING_AND_GOING.len()]
    };
    let runs = [
        ("CLAP", in_clap(Layout::StereoSpotStereo, 0.0, side_at)),
        ("VST3", in_vst3(Some(kStereo), 0.0, side_at)),
    ];
    for (format, heard) in runs {
        check(SideChain::Kick, format, &heard.saved);
        assert!(!heard.restarts, "{format}");
        for number in 1..=CHANGES {
            let around = change(number) - BLOCK..change(number) + 4 * BLOCK;
            for channel in &heard.out {
                let step = largest_step(&channel[around.clone()]);
                println!("{format}, change {number}: largest step {step:.1e}");
                assert!(step <= STEP, "{format}, change {number}: {step}");
            }
        }
    }
}
