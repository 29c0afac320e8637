//! What a window shows, as pixels.

use crate::window::Window;
use anyhow::{Context, Result, ensure};
use x11rb::protocol::xproto::{ConnectionExt, ImageFormat};

/// All planes of a pixel.
const EVERY_PLANE: u32 = !0;

/// A picture of a window: red, green and blue in lines from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screenshot {
    /// Pixels.
    pub width: u32,
    /// Pixels.
    pub height: u32,
    pub pixels: Vec<[u8; 3]>,
}

impl Window {
    /// A picture of the window with all that is in it.
    pub fn screenshot(&self) -> Result<Screenshot> {
        let size = self.connection.get_geometry(self.id)?.reply()?;
        self.part((0, 0), (size.width, size.height))
    }

    /// A picture of a part of it, which must lie inside: corner and size in pixels.
    pub fn part(&self, (x, y): (i16, i16), (width, height): (u16, u16)) -> Result<Screenshot> {
        let whole = ImageFormat::Z_PIXMAP;
        let image = self
            .connection
            .get_image(whole, self.id, x, y, width, height, EVERY_PLANE)?
            .reply()
            .context("the window cannot be seen")?;
        ensure!(image.depth == 24, "a screen of {} bits", image.depth);
        // Blue comes first in memory, and the fourth byte is empty.
        let pixels = image.data.chunks_exact(4);
        Ok(Screenshot {
            width: width.into(),
            height: height.into(),
            pixels: pixels.map(|pixel| [pixel[2], pixel[1], pixel[0]]).collect(),
        })
    }
}

impl Screenshot {
    /// True when something has been drawn on it.
    pub fn is_drawn(&self) -> bool {
        self.pixels.iter().any(|pixel| *pixel != self.pixels[0])
    }
}
