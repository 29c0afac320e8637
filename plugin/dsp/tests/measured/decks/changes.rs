//! Changes while the decks run: no click, no trace, nothing that is not finite.

use std::f64::consts::TAU;

use plumbline_dsp::decks::drag::DragControl;
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::{SongPosition, Transport};
use plumbline_dsp::decks::{Sweep, SweepSetup};

use super::{RATE, Rig, cycle};
use crate::support::{assert_below, assert_no_click, sine};

#[test]
fn changes_make_no_click() {
    // Largest step at most 1.1 times the input's own.
    type Change = fn(&mut CourseSettings, &mut MixSettings);
    let changes: [(&str, Change); 15] = [
        ("engage", |_, mix| mix.engage = false),
        ("flip", |_, mix| mix.flip = true),
        ("blend", |_, mix| mix.blend = 1.0),
        ("width", |_, mix| mix.width = -1.0),
        ("hand", |course, _| course.motion = Motion::Hand),
        ("pass", |course, _| course.motion = Motion::Pass),
        ("pass through a bar", |course, _| {
            course.motion = Motion::Pass;
            course.null_at = Some(1.3);
        }),
        ("pass that eases in", |course, _| {
            course.motion = Motion::Pass;
            course.null_at = Some(1.3);
            course.ease_bars = 0.01;
        }),
        ("drag", |course, _| {
            course.motion = Motion::Drag;
            course.drag = DragControl::Brake(1.0);
        }),
        ("curve", |course, _| course.curve = Curve::Triangle),
        ("pace", |course, _| course.pace = Pace::Beats(3.0)),
        ("range", |course, _| course.range_s = 0.0005),
        ("offset", |course, _| course.offset_s = -0.009),
        ("wow", |course, _| course.wobble.wow = 0.005),
        ("free", |course, _| course.pace = Pace::Hertz(0.3)),
    ];
    for (name, change) in changes {
        for hz in [97.0, 997.0, 5003.0] {
            let mut course = cycle(Curve::Sine, 0.004, Pace::Beats(16.0));
            let mut mix = MixSettings::default();
            let mut rig = Rig::new(RATE, 30_000);
            let input = sine(hz, RATE, 60_000);
            let mut audio = input.clone();
            rig.run(&mut audio[..30_016], |_| course, &mix);
            change(&mut course, &mut mix);
            rig.run(&mut audio[30_016..], |_| course, &mix);
            assert_no_click(&format!("{name}, {hz} Hz"), &audio[5000..], &input);
        }
    }
}

#[test]
fn a_free_cycle_goes_on_from_where_it_is_at_its_new_rate() {
    let mut rig = Rig::new(RATE, 4_800_000);
    let mut audio = vec![0.0; 96_000];
    for (n, block) in audio.chunks_mut(64).enumerate() {
        let rate = 0.1 + 0.4 * (n as f64 / 1500.0);
        let settings = cycle(Curve::Sine, 0.003, Pace::Hertz(rate));
        rig.block(block, &settings, &MixSettings::default());
    }
    let steps = rig.offsets.windows(2).map(|w| (w[1] - w[0]).abs());
    let fastest = steps.fold(0.0, f64::max) * RATE / 64.0;
    assert_below("speed", fastest, 0.003 * TAU * 0.5);
}

#[test]
fn two_cuts_within_one_fade_make_no_click() {
    let mut rig = Rig::new(RATE, 48_000);
    let input = sine(997.0, RATE, 30_000);
    let mut audio = input.clone();
    for (n, block) in audio.chunks_mut(64).enumerate() {
        // Every 5 ms another song position.
        if n > 200 && n < 300 && n % 4 == 0 {
            rig.at += 77_777;
        }
        let settings = cycle(Curve::Triangle, 0.004, Pace::Beats(16.0));
        rig.block(block, &settings, &MixSettings::default());
    }
    assert_no_click("cuts every 5 ms", &audio[5000..], &input);
}

#[test]
fn a_jump_in_the_song_makes_no_click_and_leaves_no_trace() {
    let settings = cycle(Curve::Sine, 0.004, Pace::Beats(16.0));
    let mut rig = Rig::new(RATE, 48_000);
    let input = sine(997.0, RATE, 60_000);
    let mut audio = input.clone();
    rig.run(&mut audio[..30_016], |_| settings, &MixSettings::default());
    rig.at = 300_000;
    rig.run(&mut audio[30_016..], |_| settings, &MixSettings::default());
    assert_no_click("a jump of the song", &audio[5000..], &input);
    let mut fresh = Rig::new(RATE, 300_000);
    let mut other = input[30_016..].to_vec();
    fresh.run(&mut other, |_| settings, &MixSettings::default());
    let settled = 576 + 32 + 960 + 1200;
    assert_eq!(audio[30_016 + settled..], other[settled..]);
}

#[test]
fn drag_starts_from_the_null_point_after_a_jump_and_recue_returns_to_it() {
    let braked = |drag: DragControl| CourseSettings {
        motion: Motion::Drag,
        drag,
        ..CourseSettings::default()
    };
    let mut rig = Rig::new(RATE, 0);
    let mut audio = vec![0.0; 48_000];
    rig.run(
        &mut audio,
        |_| braked(DragControl::Brake(0.5)),
        &MixSettings::default(),
    );
    assert!(rig.sweep.offset_s() > 0.002);
    rig.run(
        &mut audio,
        |_| braked(DragControl::Recue),
        &MixSettings::default(),
    );
    assert_eq!(rig.sweep.offset_s(), 0.0);
    rig.run(
        &mut audio,
        |_| braked(DragControl::Brake(-0.5)),
        &MixSettings::default(),
    );
    assert!(rig.sweep.offset_s() < -0.002);
    rig.at += 480_000;
    rig.run(
        &mut audio[..4800],
        |_| braked(DragControl::Brake(0.0)),
        &MixSettings::default(),
    );
    assert_eq!(rig.sweep.offset_s(), 0.0);
}

#[test]
fn nonsense_stays_finite() {
    let nonsense = CourseSettings {
        motion: Motion::Cycle,
        offset_s: f64::NAN,
        range_s: f64::INFINITY,
        pace: Pace::Beats(f64::NAN),
        ..CourseSettings::default()
    };
    let mix = MixSettings {
        blend: f64::NAN,
        width: f64::INFINITY,
        ..MixSettings::default()
    };
    for rate in [f64::NAN, 0.0, 8_000.0, 768_000.0] {
        let mut sweep = Sweep::new(SweepSetup {
            sample_rate: rate,
            channels: 2,
            delayed_before: 0,
        });
        let place = SongPosition {
            seconds: f64::NAN,
            beats: f64::INFINITY,
            ..SongPosition::default()
        };
        for transport in [Transport::Running(place), Transport::Stopped] {
            let (mut a, mut b) = (vec![f32::NAN; 3000], vec![f32::INFINITY; 3000]);
            sweep.process(&mut [&mut a, &mut b], &nonsense, &mix, transport);
            sweep.process(&mut [&mut [], &mut []], &nonsense, &mix, transport);
            sweep.process(&mut [], &nonsense, &mix, transport);
            assert!(a.iter().chain(&b).all(|y| y.is_finite()));
        }
    }
}
