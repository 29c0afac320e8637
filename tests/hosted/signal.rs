//! What comes out for what goes in.

use crate::audio::{noise, open, run};
use plumbline_dsp::align::{Align, AlignSetup, Place};
use plumbline_hosting::{Layout, Session};

#[test]
fn an_impulse_appears_at_exactly_the_latency_in_every_layout_mode_and_reach() {
    for layout in Layout::ALL {
        for (mode, reach_ms) in [(0.0, 0.0), (0.0, 7.3), (1.0, 0.0), (1.0, 30.0)] {
            let mut instance = open(Session {
                layout,
                ..Session::default()
            });
            instance.set("mode", mode).unwrap();
            instance.set("reach", reach_ms).unwrap();
            instance.restart().unwrap();
            let latency = instance.latency() as usize;
            let (main_channels, spot_channels) = layout.channels();
            let mut impulse = vec![0.0; 4_000];
            impulse[100] = 1.0;
            let mut main = vec![impulse; main_channels];
            let spot = vec![vec![0.0; 4_000]; spot_channels];
            run(&mut instance, &mut main, &spot, || 512);
            for channel in main {
                let lit: Vec<_> = (0..4_000).filter(|&i| channel[i] != 0.0).collect();
                assert_eq!(
                    lit,
                    [100 + latency],
                    "{layout:?} mode {mode} reach {reach_ms}"
                );
                assert_eq!(channel[100 + latency], 1.0);
            }
        }
    }
}

#[test]
fn hosted_output_is_core_output_bit_for_bit() {
    let mut instance = open(Session::default());
    for (id, value) in [
        ("nudge_first", 0.37),
        ("nudge_second", -1.91),
        ("reach", 3.0),
        ("polarity", 2.0),
    ] {
        instance.set(id, value).unwrap();
    }
    instance.restart().unwrap();
    // The plugin keeps its parameters in single precision.
    let mut plain = |id| f64::from(instance.get(id).unwrap() as f32);
    let (first_ms, second_ms, reach_ms) =
        (plain("nudge_first"), plain("nudge_second"), plain("reach"));
    let mut core = Align::new(AlignSetup {
        sample_rate: 48_000.0,
        channels: 2,
        reach_s: reach_ms / 1000.0,
    });
    core.set_places(&[
        Place {
            shift_samples: first_ms / 1000.0 * 48_000.0,
            inverted: false,
        },
        Place {
            shift_samples: second_ms / 1000.0 * 48_000.0,
            inverted: true,
        },
    ]);
    core.reset();
    let mut hosted = vec![noise(20_000, 1), noise(20_000, 2)];
    let mut direct = hosted.clone();
    let [first, second] = &mut direct[..] else {
        unreachable!()
    };
    core.process(&mut [first, second]);
    let spot = vec![noise(20_000, 3); 2];
    run(&mut instance, &mut hosted, &spot, || 100);
    assert!(hosted == direct);
}
