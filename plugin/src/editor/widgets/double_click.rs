//! How soon a second click must follow for the two to be a double-click.

use egui::Ui;

/// True while a click of this time, seconds, may still become the first of a double-click.
pub fn may_be_doubled(ui: &Ui, clicked_s: f64) -> bool {
    let longest_s = ui
        .ctx()
        .options(|options| options.input_options.max_double_click_delay);
    ui.input(|input| input.time) - clicked_s < longest_s
}
