//! Synthetic mouse and keyboard input (XTEST), for windows that are alone on their screen.

use crate::window::Window;
use anyhow::{Context, Result};
use std::thread::sleep;
use std::time::Duration;
use x11rb::protocol::xproto::{
    BUTTON_PRESS_EVENT, BUTTON_RELEASE_EVENT, ConnectionExt, KEY_PRESS_EVENT, KEY_RELEASE_EVENT,
    MOTION_NOTIFY_EVENT,
};
use x11rb::protocol::xtest::ConnectionExt as _;

/// The left button.
const LEFT: u8 = 1;
/// Points that a drag passes on its way.
const STEPS: i16 = 10;
/// Between two movements of the pointer: longer than a picture takes.
const PACE: Duration = Duration::from_millis(30);
/// Before and after a press that is meant as one: the largest window has been drawn again.
const REST: Duration = Duration::from_millis(300);

impl Window {
    /// Presses and releases the button at a point of the window, pixels.
    pub fn click(&self, at: (i16, i16)) -> Result<()> {
        self.point_at(at)?;
        sleep(REST);
        self.fake(BUTTON_PRESS_EVENT, LEFT, (0, 0))?;
        sleep(REST);
        self.fake(BUTTON_RELEASE_EVENT, LEFT, (0, 0))
    }

    /// Clicks twice, fast enough to be one gesture.
    pub fn double_click(&self, at: (i16, i16)) -> Result<()> {
        self.point_at(at)?;
        sleep(REST);
        for kind in [BUTTON_PRESS_EVENT, BUTTON_RELEASE_EVENT].repeat(2) {
            self.fake(kind, LEFT, (0, 0))?;
        }
        sleep(REST);
        Ok(())
    }

    /// Presses at one point, moves to another in a straight line, and releases.
    pub fn drag(&self, from: (i16, i16), to: (i16, i16)) -> Result<()> {
        self.hold(from, to)?;
        self.fake(BUTTON_RELEASE_EVENT, LEFT, (0, 0))
    }

    /// Lets go of what is held.
    pub fn let_go(&self) -> Result<()> {
        self.fake(BUTTON_RELEASE_EVENT, LEFT, (0, 0))
    }

    /// Presses at one place, goes to another in a straight line, and stays.
    pub fn hold(&self, from: (i16, i16), to: (i16, i16)) -> Result<()> {
        self.point_at(from)?;
        self.fake(BUTTON_PRESS_EVENT, LEFT, (0, 0))?;
        for step in 1..=STEPS {
            let part = |from: i16, to: i16| from + (to - from) * step / STEPS;
            self.point_at((part(from.0, to.0), part(from.1, to.1)))?;
        }
        Ok(())
    }

    /// Moves the pointer to a point of the window.
    pub fn point_at(&self, (x, y): (i16, i16)) -> Result<()> {
        let at = self
            .connection
            .translate_coordinates(self.id, self.root, x, y)?
            .reply()
            .context("the window is gone")?;
        self.fake(MOTION_NOTIFY_EVENT, 0, (at.dst_x, at.dst_y))
    }

    /// Presses and releases a key, by its code: 23 is Tab, 114 the arrow to the right, on every PC.
    pub fn press_key(&self, key: u8) -> Result<()> {
        self.fake(KEY_PRESS_EVENT, key, (0, 0))?;
        self.fake(KEY_RELEASE_EVENT, key, (0, 0))
    }

    /// Types small letters, digits and spaces as they lie on every PC.
    pub fn type_text(&self, text: &str) -> Result<()> {
        for letter in text.chars() {
            let key = key_of(letter).with_context(|| format!("no key for {letter:?}"))?;
            self.press_key(key)?;
        }
        Ok(())
    }

    fn fake(&self, kind: u8, detail: u8, (x, y): (i16, i16)) -> Result<()> {
        self.connection
            .xtest_fake_input(kind, detail, 0, self.root, x, y, 0)?
            .check()?;
        sleep(PACE);
        Ok(())
    }
}

/// Code of the key that a letter is on.
fn key_of(letter: char) -> Option<u8> {
    const ROWS: [(&str, u8); 5] = [
        ("1234567890", 10),
        ("qwertyuiop", 24),
        ("asdfghjkl", 38),
        ("zxcvbnm", 52),
        (" ", 65),
    ];
    ROWS.iter().find_map(|(row, first)| {
        let place = row.find(letter)?;
        Some(first + place as u8)
    })
}
