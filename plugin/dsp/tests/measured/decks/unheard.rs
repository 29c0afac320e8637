//! A moving deck that nobody hears goes on as if it were heard: the output and the offset afterwards are the same, bit for bit.

use plumbline_dsp::decks::drag::DragControl;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::wobble::WobbleAmounts;

use super::{RATE, Rig, cycle, moving_alone, still};
use crate::noise::Noise;

/// Why nobody hears it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Silence {
    /// It is heard.
    Heard,
    /// Something else is heard in the place of both decks.
    Passed,
    /// The fixed deck is heard alone.
    FixedAlone,
}

/// Settings at a sample of the song.
type Scene = (&'static str, fn(usize) -> CourseSettings);

const SCENES: [Scene; 7] = [
    ("hand", |n| still(0.002 * (n as f64 / 9_000.0).sin())),
    ("at rest", |_| still(0.000_123)),
    ("cycle", |_| cycle(Curve::Sine, 0.012, Pace::Beats(4.0))),
    ("range", |n| {
        cycle(Curve::Reel, 0.001 + 1e-8 * n as f64, Pace::Hertz(0.7))
    }),
    ("wow", |n| CourseSettings {
        wobble: WobbleAmounts {
            wow: if n < 60_000 { 0.0005 } else { 0.001 },
            flutter: 0.0005,
        },
        ..CourseSettings::default()
    }),
    ("drag", |n| CourseSettings {
        motion: Motion::Drag,
        range_s: 0.005,
        drag: DragControl::Brake(if n % 40_000 < 9_000 { 0.8 } else { 0.0 }),
        ..CourseSettings::default()
    }),
    ("motions", |n| match n / 20_000 % 3 {
        0 => still(0.001),
        1 => cycle(Curve::Triangle, 0.003, Pace::Beats(2.0)),
        _ => CourseSettings {
            motion: Motion::Pass,
            start: n % 20_000 > 500,
            ..cycle(Curve::Sine, 0.003, Pace::Beats(1.0))
        },
    }),
];

/// Where in the render nobody listens, samples.
const UNHEARD: std::ops::Range<usize> = 30_000..100_000;
const LENGTH: usize = 150_000;

/// What comes out and each block's offset; the song jumps back once while nobody listens.
fn render(scene: Scene, silence: Silence) -> (Vec<f32>, Vec<f64>) {
    let mut rig = Rig::new(RATE, 0);
    let (mut lengths, mut signal) = (Noise::new(5), Noise::new(6));
    let mut audio: Vec<f32> = (0..LENGTH).map(|_| signal.signed() as f32).collect();
    let (mut at, mut jumped) = (0, false);
    while at < LENGTH {
        let end = LENGTH.min(at + 1 + (lengths.signed().abs() * 200.0) as usize);
        if at > 70_000 && !jumped {
            (rig.at, jumped) = (10_000, true);
        }
        let unheard = UNHEARD.contains(&at).then_some(silence);
        let settings = scene.1(rig.at);
        let block = &mut audio[at..end];
        match unheard.unwrap_or(Silence::Heard) {
            Silence::Heard => rig.block(block, &settings, &moving_alone()),
            Silence::Passed => rig.pass(block, &settings, &moving_alone()),
            Silence::FixedAlone => {
                let mix = MixSettings {
                    blend: 0.0,
                    ..moving_alone()
                };
                rig.block(block, &settings, &mix);
            }
        }
        at = end;
    }
    (audio, rig.offsets)
}

#[test]
fn what_nobody_hears_goes_on() {
    // The line and the ramp of the mix after nobody listened.
    let settled = UNHEARD.end + 4_000;
    for scene in SCENES {
        let (heard, offsets) = render(scene, Silence::Heard);
        for silence in [Silence::Passed, Silence::FixedAlone] {
            let (audio, others) = render(scene, silence);
            let case = format!("{}, {silence:?}", scene.0);
            let apart = offsets.iter().zip(&others).position(|(a, b)| a != b);
            assert_eq!(apart, None, "{case}: block of another offset");
            let apart = (settled..LENGTH).find(|n| heard[*n] != audio[*n]);
            assert_eq!(apart, None, "{case}: sample that differs");
        }
    }
}
