//! One picture of the window: the take, the controls, the sheet's size and ink, and what a hand does before it is taken.

use std::time::Duration;

use super::take::Take;

/// A place in the window, points.
pub type Place = (i16, i16);

/// One picture.
#[derive(Clone, Copy, Debug)]
pub struct Scene {
    /// Of the file.
    pub name: &'static str,
    pub take: Take,
    /// Parameters and what is typed into them.
    pub choices: &'static [(&'static str, &'static str)],
    pub paper: &'static str,
    /// Points.
    pub size: (u32, u32),
    /// What a hand does before it plays.
    pub before: &'static [Step],
    pub pace: Pace,
    /// What a hand does, and the take goes on, before the picture is taken.
    pub after: &'static [Step],
}

/// How the take is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Through the four bars in a hurry.
    Measuring,
    /// For some seconds as it is heard.
    Playing,
}

/// What a hand does in the window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    Click(Place),
    DoubleClick(Place),
    /// Presses and does not let go.
    Hold(Place),
    Drag(Place, Place),
    /// Small letters and spaces.
    Type(&'static str),
    /// By its code on every PC.
    Key(u8),
    /// The take goes on for so many blocks of 10 ms.
    Play(u32),
    /// The second overhead has been put so many samples farther away.
    Farther(usize),
}

/// Codes of keys.
pub const ENTER: u8 = 36;

/// The usual window.
pub const USUAL: (u32, u32) = (1_080, 680);
const SMALL: (u32, u32) = (720, 460);
const LARGE: (u32, u32) = (1_800, 1_200);

/// How the scenes are named whose window is the smallest.
pub const SMALLEST: &str = "-small";

/// How long a scene is played as it is heard.
pub const PLAYED: Duration = Duration::from_secs(12);

/// The demo, measured: the usual window on the light sheet.
pub const fn scene(name: &'static str) -> Scene {
    Scene {
        name,
        take: Take::Demo,
        choices: &[("measure", "On")],
        paper: "light",
        size: USUAL,
        before: &[],
        pace: Pace::Measuring,
        after: &[],
    }
}

impl Scene {
    pub const fn dark(self) -> Self {
        let paper = "dark";
        Self { paper, ..self }
    }

    pub const fn small(self) -> Self {
        let size = SMALL;
        Self { size, ..self }
    }

    pub const fn large(self) -> Self {
        let size = LARGE;
        Self { size, ..self }
    }

    pub const fn take(self, take: Take) -> Self {
        Self { take, ..self }
    }

    pub const fn set(self, choices: &'static [(&'static str, &'static str)]) -> Self {
        Self { choices, ..self }
    }

    /// Played as it is heard: the decks' past is in the picture.
    pub const fn playing(self) -> Self {
        let pace = Pace::Playing;
        Self { pace, ..self }
    }

    pub const fn before(self, before: &'static [Step]) -> Self {
        Self { before, ..self }
    }

    pub const fn after(self, after: &'static [Step]) -> Self {
        Self { after, ..self }
    }
}
