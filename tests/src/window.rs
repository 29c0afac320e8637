//! The host's window that an editor is put into, on the display that `DISPLAY` names.

use anyhow::{Context, Result};
use x11rb::COPY_DEPTH_FROM_PARENT;
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    AtomEnum, ConfigureWindowAux, ConnectionExt, CreateWindowAux, EventMask, PropMode, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// A plain window with nothing of its own in it.
pub struct Window {
    pub(crate) connection: RustConnection,
    pub(crate) root: u32,
    pub(crate) id: u32,
    /// Told by the window manager that somebody closes the window.
    close: u32,
}

/// What has happened to a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowStatus {
    Open,
    /// Its size, pixels.
    Resized(u32, u32),
    Closed,
}

impl Window {
    /// Opens one with its corner at this point of the screen, pixels.
    pub fn open(title: &str, corner: (i16, i16)) -> Result<Self> {
        let (connection, number) = x11rb::connect(None).context("no X11 display")?;
        let screen = &connection.setup().roots[number];
        let (root, visual, black) = (screen.root, screen.root_visual, screen.black_pixel);
        let id = connection.generate_id()?;
        let atom =
            |name: &str| Ok::<_, anyhow::Error>(connection.intern_atom(false, name.as_bytes())?);
        let protocols = atom("WM_PROTOCOLS")?.reply()?.atom;
        let close = atom("WM_DELETE_WINDOW")?.reply()?.atom;
        let looks = CreateWindowAux::new()
            .background_pixel(black)
            .event_mask(EventMask::STRUCTURE_NOTIFY);
        connection.create_window(
            COPY_DEPTH_FROM_PARENT,
            id,
            root,
            corner.0,
            corner.1,
            64,
            64,
            0,
            WindowClass::INPUT_OUTPUT,
            visual,
            &looks,
        )?;
        let (name, string) = (AtomEnum::WM_NAME, AtomEnum::STRING);
        connection.change_property8(PropMode::REPLACE, id, name, string, title.as_bytes())?;
        connection.change_property32(PropMode::REPLACE, id, protocols, AtomEnum::ATOM, &[close])?;
        connection.map_window(id)?.check()?;
        Ok(Self {
            connection,
            root,
            id,
            close,
        })
    }

    /// Its number on the display.
    pub fn id(&self) -> u32 {
        self.id
    }

    /// Gives it a size, pixels.
    pub fn resize(&self, (width, height): (u32, u32)) -> Result<()> {
        let size = ConfigureWindowAux::new().width(width).height(height);
        Ok(self.connection.configure_window(self.id, &size)?.check()?)
    }

    /// Takes it off the screen, with all that is in it.
    pub fn hide(&self) -> Result<()> {
        Ok(self.connection.unmap_window(self.id)?.check()?)
    }

    /// Puts it on the screen again.
    pub fn show(&self) -> Result<()> {
        Ok(self.connection.map_window(self.id)?.check()?)
    }

    /// How many windows are in it.
    pub fn children(&self) -> Result<usize> {
        Ok(self.connection.query_tree(self.id)?.reply()?.children.len())
    }

    /// What has happened to it since the last call.
    pub fn status(&self) -> Result<WindowStatus> {
        let mut status = WindowStatus::Open;
        while let Some(event) = self.connection.poll_for_event()? {
            match event {
                Event::ClientMessage(told) if told.data.as_data32()[0] == self.close => {
                    return Ok(WindowStatus::Closed);
                }
                Event::ConfigureNotify(told) if told.window == self.id => {
                    status = WindowStatus::Resized(told.width.into(), told.height.into());
                }
                _ => {}
            }
        }
        Ok(status)
    }
}
