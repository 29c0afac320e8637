//! The colours and fonts of both themes, and how well they stand out.

use crate::session::Theme;
use egui::{Color32, Context, CornerRadius, FontId, Stroke, Style, TextStyle, Vec2, Visuals};

/// The colours of one theme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Palette {
    /// Around the drawings.
    pub background: Color32,
    /// What is drawn and written on.
    pub panel: Color32,
    /// Lines, figures, sentences.
    pub foreground: Color32,
    /// Captions, the kit's outlines, and what is for orientation.
    pub muted: Color32,
    /// Edges of controls.
    pub edge: Color32,
    /// Frames of drawings: nothing is read from them.
    pub outline: Color32,
    /// Grids of drawings, and the ground of a picked row and of a bar.
    pub grid: Color32,
    /// The first channel, and after.
    pub first: Color32,
    /// The second channel, and before: the accent.
    pub second: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const LIGHT: Palette = Palette {
    background: rgb(0xf5f2ea),
    panel: rgb(0xfbf9f4),
    foreground: rgb(0x22303c),
    muted: rgb(0x5a6873),
    edge: rgb(0x716c5f),
    outline: rgb(0xb9b3a4),
    grid: rgb(0xe4dfd3),
    first: rgb(0x2a6f7f),
    second: rgb(0xb8452c),
};

const DARK: Palette = Palette {
    background: rgb(0x171d23),
    panel: rgb(0x1d252c),
    foreground: rgb(0xe3e0d6),
    muted: rgb(0x9aa5ad),
    edge: rgb(0x808e9a),
    outline: rgb(0x46525d),
    grid: rgb(0x2a333b),
    first: rgb(0x63b3c1),
    second: rgb(0xe88a6b),
};

impl Theme {
    /// The colours.
    pub fn palette(self) -> &'static Palette {
        match self {
            Self::Light => &LIGHT,
            Self::Dark => &DARK,
        }
    }
}

/// How much of the first's colour lies over the ground of selected letters.
const SELECTED: f32 = 0.35;

/// Words.
pub fn text_font(size: f32) -> FontId {
    FontId::proportional(size)
}

/// Figures: all digits are equally wide, so that they stand still.
pub fn digit_font(size: f32) -> FontId {
    FontId::monospace(size)
}

/// Gives the toolkit's own parts (tips, lists, text boxes) the theme's colours. Nothing is animated.
pub fn apply_theme(context: &Context, theme: Theme) {
    context.set_theme(match theme {
        Theme::Light => egui::Theme::Light,
        Theme::Dark => egui::Theme::Dark,
    });
    let palette = theme.palette();
    context.all_styles_mut(|style| {
        style.animation_time = 0.0;
        style.interaction.tooltip_delay = 0.4;
        style.spacing.button_padding = Vec2::new(8.0, 5.0);
        style.spacing.interact_size = Vec2::new(24.0, 24.0);
        set_fonts(style);
        style.visuals = visuals(theme, palette);
    });
}

fn set_fonts(style: &mut Style) {
    for (name, font) in [
        (TextStyle::Body, text_font(13.5)),
        (TextStyle::Button, text_font(13.0)),
        (TextStyle::Small, text_font(11.0)),
        (TextStyle::Monospace, digit_font(13.0)),
    ] {
        style.text_styles.insert(name, font);
    }
}

fn visuals(theme: Theme, palette: &Palette) -> Visuals {
    let mut visuals = match theme {
        Theme::Light => Visuals::light(),
        Theme::Dark => Visuals::dark(),
    };
    visuals.override_text_color = Some(palette.foreground);
    visuals.panel_fill = palette.background;
    visuals.window_fill = palette.panel;
    visuals.window_stroke = Stroke::new(1.0, palette.edge);
    visuals.extreme_bg_color = palette.panel;
    visuals.selection.bg_fill = palette.first.gamma_multiply(SELECTED);
    visuals.selection.stroke = Stroke::new(1.0, palette.foreground);
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
        state.bg_fill = palette.panel;
        state.weak_bg_fill = palette.panel;
        state.bg_stroke = Stroke::new(1.0, palette.edge);
        state.fg_stroke = Stroke::new(1.0, palette.foreground);
        state.corner_radius = CornerRadius::same(2);
        state.expansion = 0.0;
    }
    visuals.widgets.hovered.bg_stroke = Stroke::new(1.4, palette.foreground);
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

    /// One of a palette's colours.
    type Ink = fn(&Palette) -> Color32;

    /// Rows of the manual's table: ink, and its contrast on both grounds of both themes.
    fn rows() -> Vec<String> {
        let inks: [(&str, Ink); 6] = [
            ("lines, figures, sentences", |palette| palette.foreground),
            ("captions, small text, kit outlines", |palette| {
                palette.muted
            }),
            ("first", |palette| palette.first),
            ("second", |palette| palette.second),
            ("edges of controls", |palette| palette.edge),
            ("frames of drawings", |palette| palette.outline),
        ];
        let cell = |theme: Theme, ink: Ink| {
            let palette = theme.palette();
            let grounds = [palette.panel, palette.background];
            let [panel, around] = grounds.map(|ground| contrast(ink(palette), ground));
            format!("{panel:.1} / {around:.1}")
        };
        let row = |(name, ink)| {
            let [light, dark] = [Theme::Light, Theme::Dark].map(|theme| cell(theme, ink));
            format!("| {name} | {light} | {dark} |")
        };
        inks.into_iter().map(row).collect()
    }

    #[test]
    fn the_manual_has_the_contrast_of_every_ink() {
        let manual = include_str!("../../../../docs/manual.md");
        let rows = rows();
        println!("{}", rows.join("\n"));
        for row in rows {
            assert!(manual.contains(&row), "docs/manual.md lacks: {row}");
        }
    }

    #[test]
    fn every_ink_for_text_and_outlines_stands_out_at_4_5_to_1() {
        // WCAG 2.2, 1.4.3; 1.4.11 asks for 3 where an outline is needed to see a control.
        for theme in [Theme::Light, Theme::Dark] {
            // All of a palette: a new ink is named here, and is either read or not.
            let Palette {
                background,
                panel,
                foreground,
                muted,
                edge,
                outline: _frames,
                grid,
                first,
                second,
            } = *theme.palette();
            let inks = [foreground, muted, edge, first, second];
            let pairs = inks
                .into_iter()
                .flat_map(|ink| [background, panel].map(|ground| (ink, ground)));
            // A picked row of the kit map, a selected button, and letters that are selected while they are typed.
            let letters = panel.lerp_to_gamma(first, SELECTED);
            let pairs = pairs.chain([
                (foreground, grid),
                (background, foreground),
                (foreground, letters),
            ]);
            for (ink, ground) in pairs {
                let contrast = contrast(ink, ground);
                assert!(
                    contrast >= 4.5,
                    "{theme:?} {ink:?} on {ground:?}: {contrast:.2}"
                );
            }
        }
    }
}
