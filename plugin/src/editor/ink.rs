//! The inks of the light and the dark sheet, and the lettering.

use crate::desk::Paper;
use egui::{
    Color32, Context, CornerRadius, FontId, Stroke, Style, TextStyle, Theme, Vec2, Visuals,
};

/// One sheet's inks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inks {
    /// Around the drawings.
    pub desk: Color32,
    /// What is drawn and written on.
    pub paper: Color32,
    /// Lines, figures, sentences.
    pub ink: Color32,
    /// Captions and what is for orientation.
    pub soft: Color32,
    /// Edges of what a hand can take.
    pub edge: Color32,
    /// Frames of drawings, outlines of the kit.
    pub rule: Color32,
    /// Squared paper.
    pub grid: Color32,
    /// The first channel, and after.
    pub first: Color32,
    /// The second channel, and before: the accent.
    pub second: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const LIGHT: Inks = Inks {
    desk: rgb(0xf5f2ea),
    paper: rgb(0xfbf9f4),
    ink: rgb(0x22303c),
    soft: rgb(0x5a6873),
    edge: rgb(0x8b8677),
    rule: rgb(0xb9b3a4),
    grid: rgb(0xe4dfd3),
    first: rgb(0x2a6f7f),
    second: rgb(0xb8452c),
};

const DARK: Inks = Inks {
    desk: rgb(0x171d23),
    paper: rgb(0x1d252c),
    ink: rgb(0xe3e0d6),
    soft: rgb(0x9aa5ad),
    edge: rgb(0x6b7985),
    rule: rgb(0x46525d),
    grid: rgb(0x2a333b),
    first: rgb(0x63b3c1),
    second: rgb(0xe88a6b),
};

impl Paper {
    pub fn inks(self) -> &'static Inks {
        match self {
            Self::Light => &LIGHT,
            Self::Dark => &DARK,
        }
    }
}

/// Words.
pub fn words(size: f32) -> FontId {
    FontId::proportional(size)
}

/// Figures: all digits are equally wide, so that they stand still.
pub fn figures(size: f32) -> FontId {
    FontId::monospace(size)
}

/// Dresses the toolkit's own parts (tips, lists, text under a hand) in the sheet's inks. Nothing moves by itself.
pub fn dress(context: &Context, paper: Paper) {
    context.set_theme(match paper {
        Paper::Light => Theme::Light,
        Paper::Dark => Theme::Dark,
    });
    let inks = paper.inks();
    context.all_styles_mut(|style| {
        style.animation_time = 0.0;
        style.interaction.tooltip_delay = 0.4;
        style.spacing.button_padding = Vec2::new(8.0, 5.0);
        style.spacing.interact_size = Vec2::new(24.0, 24.0);
        letters(style);
        style.visuals = visuals(paper, inks);
    });
}

fn letters(style: &mut Style) {
    for (name, font) in [
        (TextStyle::Body, words(13.5)),
        (TextStyle::Button, words(13.0)),
        (TextStyle::Small, words(11.0)),
        (TextStyle::Monospace, figures(13.0)),
    ] {
        style.text_styles.insert(name, font);
    }
}

fn visuals(paper: Paper, inks: &Inks) -> Visuals {
    let mut visuals = match paper {
        Paper::Light => Visuals::light(),
        Paper::Dark => Visuals::dark(),
    };
    visuals.override_text_color = Some(inks.ink);
    visuals.panel_fill = inks.desk;
    visuals.window_fill = inks.paper;
    visuals.window_stroke = Stroke::new(1.0, inks.edge);
    visuals.extreme_bg_color = inks.paper;
    visuals.selection.bg_fill = inks.first.gamma_multiply(0.35);
    visuals.selection.stroke = Stroke::new(1.0, inks.ink);
    visuals.popup_shadow = egui::Shadow::NONE;
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.window_corner_radius = CornerRadius::same(2);
    visuals.menu_corner_radius = CornerRadius::same(2);
    let widgets = &mut visuals.widgets;
    for state in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        state.bg_fill = inks.paper;
        state.weak_bg_fill = inks.paper;
        state.bg_stroke = Stroke::new(1.0, inks.edge);
        state.fg_stroke = Stroke::new(1.0, inks.ink);
        state.corner_radius = CornerRadius::same(2);
        state.expansion = 0.0;
    }
    visuals.widgets.hovered.bg_stroke = Stroke::new(1.4, inks.ink);
    visuals
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2, relative luminance.
    fn luminance(color: Color32) -> f64 {
        let linear = |part: u8| {
            let part = f64::from(part) / 255.0;
            match part <= 0.04045 {
                true => part / 12.92,
                false => ((part + 0.055) / 1.055).powf(2.4),
            }
        };
        0.2126 * linear(color.r()) + 0.7152 * linear(color.g()) + 0.0722 * linear(color.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_stands_out_at_4_5_to_1_and_edges_at_3_to_1() {
        // WCAG 2.2: 1.4.3 text, 1.4.11 what is needed to see a control.
        for paper in [Paper::Light, Paper::Dark] {
            let inks = paper.inks();
            for (name, text, least) in [
                ("ink", inks.ink, 4.5),
                ("soft", inks.soft, 4.5),
                ("first", inks.first, 4.5),
                ("second", inks.second, 4.5),
                ("edge", inks.edge, 3.0),
            ] {
                for ground in [inks.desk, inks.paper] {
                    let contrast = contrast(text, ground);
                    assert!(contrast >= least, "{paper:?} {name}: {contrast:.2}");
                }
            }
            let turned = contrast(inks.desk, inks.ink);
            assert!(turned >= 4.5, "{paper:?} a chosen word: {turned:.2}");
        }
    }
}
