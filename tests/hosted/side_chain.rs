//! Whatever is on the side chain, or nothing: the overheads are measured, on the drum that is due.

use crate::buffers::clap;
use crate::library::open;
use crate::simulated_kit::{KICK_GAP, RATE, SNARE_GAP, gap_samples, kit};
use crate::vst3::host::{Render, RenderSetup, Vst3, bus, null_bus};
use plumbline_hosting::{Layout, SavedMeasurement, Session};
use std::ptr::null_mut;
use vst3::Steinberg::Vst::SpeakerArr::kStereo;
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

/// The spot's samples for a case, where it has some.
fn spot(case: SideChain, [_, _, kick, snare]: &[Vec<f32>; 4]) -> Option<Vec<f32>> {
    match case {
        SideChain::Silent => Some(vec![0.0; kick.len()]),
        SideChain::Kick => Some(kick.clone()),
        SideChain::Snare => Some(snare.clone()),
        SideChain::Absent | SideChain::LeftOut | SideChain::Null => None,
    }
}

fn in_clap(case: SideChain) -> SavedMeasurement {
    let layout = match case {
        SideChain::Absent => Layout::Stereo,
        _ => Layout::StereoSpotStereo,
    };
    let mut instance = open(Session {
        max_block: BLOCK as u32,
        offline: true,
        layout,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    let quiet = [0.0; BLOCK];
    let spots = layout.channels().1;
    let mut out = [[0.0; BLOCK]; 2];
    let [left, right] = &mut out;
    instance
        .process(&mut [left, right], &vec![&quiet[..]; spots])
        .unwrap();
    let mut channels = kit();
    let mut spot = spot(case, &channels);
    for at in (0..channels[0].len() - BLOCK).step_by(BLOCK) {
        let [first, second, ..] = &mut channels;
        let mut main = [first, second].map(|channel| channel[at..].as_mut_ptr());
        let mut side = match &mut spot {
            Some(spot) => [spot[at..].as_mut_ptr(); 2],
            None => [null_mut(); 2],
        };
        let mut outputs = out.each_mut().map(|channel| channel.as_mut_ptr());
        let mut inputs = vec![clap::bus(&mut main)];
        if !matches!(case, SideChain::Absent | SideChain::LeftOut) {
            inputs.push(clap::bus(&mut side));
        }
        clap::process(&instance, BLOCK, &inputs, &mut [clap::bus(&mut outputs)]);
    }
    instance.measurement().unwrap().unwrap()
}

fn in_vst3(case: SideChain) -> SavedMeasurement {
    let plugin = Vst3::new();
    let side = (case != SideChain::Absent).then_some(kStereo);
    assert_eq!(plugin.arrange(kStereo, side), kResultOk);
    plugin.start_on(RenderSetup {
        render: Render::Offline,
        sample_rate: RATE as f64,
        longest: BLOCK,
    });
    let mut channels = kit();
    let mut spot = spot(case, &channels);
    let mut out = [[0.0; BLOCK]; 2];
    for at in (0..channels[0].len() - BLOCK).step_by(BLOCK) {
        let [first, second, ..] = &mut channels;
        let mut main = [first, second].map(|channel| channel[at..].as_mut_ptr());
        let mut outputs = out.each_mut().map(|channel| channel.as_mut_ptr());
        let mut inputs = vec![bus(&mut main)];
        let mut side = spot.as_mut().map(|spot| [spot[at..].as_mut_ptr(); 2]);
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
    serde_json::from_str(measurement).unwrap()
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

#[test]
fn the_snare_is_found_whatever_is_on_the_side_chain() {
    for case in ALL {
        check(case, "CLAP", &in_clap(case));
        check(case, "VST3", &in_vst3(case));
    }
}

/// The side chain is cut off in the middle of a take and comes back: nothing restarts, and every stroke counts.
#[test]
fn a_side_chain_that_comes_and_goes_changes_nothing_between_the_overheads() {
    let mut instance = open(Session {
        max_block: BLOCK as u32,
        offline: true,
        layout: Layout::StereoSpotMono,
        ..Session::default()
    });
    instance.set("measure", 1.0).unwrap();
    let [mut first, mut second, mut kick, _] = kit();
    let third = kick.len() / 3;
    kick[third..2 * third].fill(0.0);
    for at in (0..first.len() - BLOCK).step_by(BLOCK) {
        let part = at..at + BLOCK;
        let mut main = [&mut first[part.clone()], &mut second[part.clone()]];
        instance.process(&mut main, &[&kick[part]]).unwrap();
    }
    let saved = instance.measurement().unwrap().unwrap();
    check(SideChain::Kick, "coming and going", &saved);
    assert!(!instance.wants_restart());
}
