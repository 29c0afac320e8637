//! The pictures of the window: every page and state, in both sheets and in the smallest and the largest window.

use super::scene::{ENTER, Place, Scene, Step, scene};
use super::take::Take;
use Step::{Click, DoubleClick, Drag, Farther, Hold, Key, Play, Type};

type Choices = &'static [(&'static str, &'static str)];

/// Tabs of the drawings in the smallest window of Align and of Sweep, and of the lag curve in a usual one.
const KIT_SMALL: Place = (82, 119);
const LAG_SMALL: Place = (120, 119);
const MONO_SMALL: Place = (181, 119);
const COMB_SMALL: Place = (109, 119);
const LAG: Place = (550, 388);
/// Buttons of the header.
const PLACEMENT: Place = (272, 27);
const RECALL: Place = (350, 27);
const COMPARE: Place = (960, 27);
const VIEW: Place = (895, 27);
/// The button that asks for four strokes, in a usual window and in the smallest.
const FOUR_HITS: Place = (185, 652);
const FOUR_HITS_SMALL: Place = (185, 432);
/// Beside the controls.
const PRESETS: Place = (1_027, 654);
const PRESETS_SMALL: Place = (667, 434);
const SIDE_B: Place = (979, 654);
const UNDO: Place = (962, 620);
/// Rows of the kit map in a usual window.
const SECOND_ROW: Place = (60, 453);
const THIRD_ROW: Place = (60, 477);
/// Tabs of the tape's controls, in a window of the usual size, and in the smallest of Sweep and of Align.
const TAPE: Place = (1_038, 586);
const TAPE_SMALL: Place = (678, 366);
const TAPE_SMALL_ALIGN: Place = (678, 316);
/// The recall page.
const FIRST_IS: Place = (160, 120);
const SECOND_IS: Place = (160, 154);
const KEEP: Place = (180, 290);
/// A starting point in the list.
const A_STARTING_POINT: Place = (600, 200);
/// The choice of what lands together.
const BODY: Place = (413, 600);

const MEASURE: (&str, &str) = ("measure", "On");
const KICK: Choices = &[MEASURE, ("match", "Kit"), ("spot_level", "0 dB")];
const CYCLE: Choices = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Cycle"),
    ("range", "2 ms"),
    ("length", "2 bars"),
];
const DRAG: Choices = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Drag"),
    ("drag", "20 %"),
];
/// A pass through a bar of the demo.
const NULL_AT: Choices = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Pass"),
    ("length", "2 bars"),
    ("null_at", "7"),
    ("ease", "0.5"),
];
const PRINT: Choices = &[MEASURE, ("print", "On"), ("tape_level", "6 dB")];
const SWEEP_PRINT: Choices = &[
    MEASURE,
    ("mode", "Sweep"),
    ("motion", "Cycle"),
    ("range", "2 ms"),
    ("length", "2 bars"),
    ("print", "On"),
    ("tape_level", "9 dB"),
    ("tape_speed", "19 cm/s"),
];

/// The kick's microphone as the spot, printed with the pair, the whole kit matched.
const fn kick(name: &'static str) -> Scene {
    scene(name).take(Take::Kick).set(KICK)
}

const fn sweep(name: &'static str) -> Scene {
    scene(name).set(CYCLE).playing()
}

/// The tape's drawings on the Align page.
const fn align_print(name: &'static str) -> Scene {
    scene(name).set(PRINT).before(&[Click(TAPE)])
}

/// The same on the Sweep page.
const fn sweep_print(name: &'static str) -> Scene {
    sweep(name).set(SWEEP_PRINT).before(&[Click(TAPE)])
}

const fn placement(name: &'static str) -> Scene {
    kick(name).before(&[Click(PLACEMENT)])
}

/// Both microphones have names, and the gaps are kept.
const RECALL_FILLED: &[Step] = &[
    Click(RECALL),
    Click(FIRST_IS),
    Type("hat side"),
    Key(ENTER),
    Click(SECOND_IS),
    Type("floor side"),
    Key(ENTER),
    Click(KEEP),
    Play(5),
];

/// All of them.
pub const SCENES: &[Scene] = &[
    scene("align-light"),
    scene("align-dark").dark(),
    scene("align-small").small(),
    scene("align-large").large(),
    scene("align-no-hits").take(Take::Silence),
    scene("align-no-spot").take(Take::NoSpot),
    scene("align-undecided").take(Take::Turned),
    scene("align-missing-reach").set(&[MEASURE, ("anchor", "First")]),
    scene("align-clipped").take(Take::Clipped),
    scene("align-lag").before(&[Click(LAG)]),
    scene("align-lag-small").small().before(&[Click(LAG_SMALL)]),
    scene("align-mono-sum-small")
        .small()
        .before(&[Click(MONO_SMALL)]),
    kick("align-kick-light"),
    kick("align-kick-dark").dark(),
    kick("align-kick-small").small().before(&[Click(KIT_SMALL)]),
    kick("align-kick-large").dark().large(),
    kick("align-picked").after(&[
        DoubleClick(SECOND_ROW),
        Type("old kick"),
        Key(ENTER),
        DoubleClick(THIRD_ROW),
        Type("floor tom"),
        Key(ENTER),
        Click(SECOND_ROW),
        Play(100),
    ]),
    scene("align-compare").after(&[Hold(COMPARE), Play(50)]),
    scene("align-compare-dark")
        .dark()
        .after(&[Hold(COMPARE), Play(50)]),
    scene("align-versions").after(&[
        Click(SIDE_B),
        Play(5),
        Click(BODY),
        Play(5),
        Drag((296, 600), (296, 630)),
        Play(5),
        Click(UNDO),
        Play(5),
    ]),
    scene("align-view-menu").after(&[Click(VIEW)]),
    placement("placement-light"),
    placement("placement-dark-large").dark().large(),
    placement("placement-small").small(),
    placement("placement-four-hits").after(&[Click(FOUR_HITS), Play(70)]),
    placement("placement-four-hits-small")
        .small()
        .after(&[Click(FOUR_HITS_SMALL), Play(70)]),
    kick("placement-target").after(&[
        Click(RECALL),
        Click(KEEP),
        Farther(14),
        Click(PLACEMENT),
        Play(950),
    ]),
    scene("recall-light").before(&[Click(RECALL)]),
    scene("recall-dark").dark().before(&[Click(RECALL)]),
    scene("recall-small").small().before(&[Click(RECALL)]),
    kick("recall-filled").after(RECALL_FILLED),
    sweep("presets-light").before(&[Click(PRESETS)]),
    sweep("presets-dark").dark().before(&[Click(PRESETS)]),
    sweep("presets-small")
        .small()
        .before(&[Click(PRESETS_SMALL)]),
    scene("presets-called-up").after(&[Click(PRESETS), Click(A_STARTING_POINT), Play(50)]),
    sweep("sweep-light"),
    sweep("sweep-dark").dark(),
    sweep("sweep-small").small(),
    sweep("sweep-comb-small")
        .small()
        .before(&[Click(COMB_SMALL)]),
    sweep("sweep-large").large(),
    sweep("sweep-drag").set(DRAG),
    sweep("sweep-null-at-light").set(NULL_AT),
    sweep("sweep-null-at-dark").dark().set(NULL_AT),
    sweep("sweep-null-at-small").small().set(NULL_AT),
    align_print("print-align-light"),
    align_print("print-align-small")
        .small()
        .before(&[Click(TAPE_SMALL_ALIGN)]),
    sweep_print("print-sweep-light"),
    sweep_print("print-sweep-dark").dark(),
    sweep_print("print-sweep-small")
        .small()
        .before(&[Click(TAPE_SMALL)]),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::workspace::root;

    /// Pages with pictures.
    const PAGES: [&str; 3] = ["README.md", "docs/manual.md", "docs/dsp.md"];

    #[test]
    fn every_picture_that_is_shown_is_a_scene_and_is_there() {
        let mut shown = 0;
        for page in PAGES {
            let text = std::fs::read_to_string(root().join(page)).unwrap();
            for part in text.split("figures/").skip(1) {
                let Some((name, _)) = part.split_once(".png)") else {
                    continue;
                };
                if name.contains(char::is_whitespace) {
                    continue;
                }
                let is_scene = SCENES.iter().any(|scene| scene.name == name);
                assert!(is_scene, "{page} shows {name}, which is no scene");
                let file = root().join(format!("docs/figures/{name}.png"));
                assert!(file.exists(), "{page}: no {}", file.display());
                shown += 1;
            }
        }
        assert!(shown > 10, "{shown}");
    }

    #[test]
    fn every_picture_is_a_scene() {
        for entry in std::fs::read_dir(root().join("docs/figures")).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if let Some(name) = name.strip_suffix(".png") {
                let is_scene = SCENES.iter().any(|scene| scene.name == name);
                assert!(is_scene, "docs/figures has {name}, which no scene takes");
            }
        }
    }
}
