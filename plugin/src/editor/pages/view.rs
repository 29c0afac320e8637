//! What a window shows at present; forgotten when it is closed.

use crate::editor::action::{ControlTab, Figure, Graph, Page};

/// The part of the content that is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct View {
    pub page: Page,
    pub figure: Figure,
    pub graph: Graph,
    pub tab: ControlTab,
}
