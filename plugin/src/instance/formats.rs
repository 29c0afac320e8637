//! What the two formats are told about the plugin: who it is, where it is filed, which knobs a controller gets.

use super::plumbline::Plumbline;
use crate::params::{PlumblineParams, SweepParams};
use nice_plug::prelude::*;

impl ClapPlugin for Plumbline {
    const CLAP_ID: &'static str = "org.plumbline.plumbline";
    const CLAP_DESCRIPTION: Option<&'static str> =
        Some("Aligns a pair of drum overheads to a fraction of a sample");
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[
        ClapFeature::AudioEffect,
        ClapFeature::Utility,
        ClapFeature::Mixing,
        ClapFeature::Stereo,
        ClapFeature::Mono,
    ];

    fn remote_controls(&self, context: &mut impl RemoteControlsContext) {
        let params = &self.params;
        context.add_section("Align", |section| {
            section.add_page("Align", |page| align_page(page, params));
            section.add_page("Listen", |page| listen_page(page, params));
            section.add_page("Set-up", |page| set_up_page(page, params));
            section.add_page("Print", |page| print_page(page, params));
        });
        context.add_section("Sweep", |section| {
            section.add_page("Decks", |page| deck_page(page, &params.sweep));
            section.add_page("Motion", |page| motion_page(page, &params.sweep));
            section.add_page("Pass", |page| pass_page(page, &params.sweep));
        });
    }
}

/// Eight controls a page, as CLAP wants it.
fn align_page(page: &mut impl RemoteControlsPage, params: &PlumblineParams) {
    page.add_param(&params.measure);
    page.add_param(&params.correct);
    page.add_param(&params.amount);
    page.add_param(&params.target);
    page.add_param(&params.anchor);
    page.add_param(&params.polarity);
    page.add_param(&params.nudge_first);
    page.add_param(&params.nudge_second);
}

fn listen_page(page: &mut impl RemoteControlsPage, params: &PlumblineParams) {
    page.add_param(&params.monitor);
    page.add_param(&params.compare);
    page.add_param(&params.output);
    page.add_param(&params.bypass);
}

fn set_up_page(page: &mut impl RemoteControlsPage, params: &PlumblineParams) {
    page.add_param(&params.spot_trim);
    page.add_param(&params.reach);
    page.add_param(&params.temperature);
    page.add_param(&params.drum);
    page.add_param(&params.mode);
}

fn print_page(page: &mut impl RemoteControlsPage, params: &PlumblineParams) {
    let print = &params.print;
    page.add_param(&print.on);
    page.add_param(&print.level);
    page.add_param(&print.speed);
    page.add_param(&print.equalisation);
    page.add_param(&print.hiss);
    page.add_param(&print.fluxivity);
    page.add_param(&print.reference);
    page.add_param(&params.spot_level);
}

fn deck_page(page: &mut impl RemoteControlsPage, sweep: &SweepParams) {
    page.add_param(&sweep.offset);
    page.add_param(&sweep.range);
    page.add_param(&sweep.drag);
    page.add_param(&sweep.recue);
    page.add_param(&sweep.blend);
    page.add_param(&sweep.width);
    page.add_param(&sweep.flip);
    page.add_param(&sweep.engage);
}

fn motion_page(page: &mut impl RemoteControlsPage, sweep: &SweepParams) {
    page.add_param(&sweep.motion);
    page.add_param(&sweep.sync);
    page.add_param(&sweep.length);
    page.add_param(&sweep.rate);
    page.add_param(&sweep.curve);
    page.add_param(&sweep.start);
    page.add_param(&sweep.wow);
    page.add_param(&sweep.flutter);
}

fn pass_page(page: &mut impl RemoteControlsPage, sweep: &SweepParams) {
    page.add_param(&sweep.start);
    page.add_param(&sweep.null_at);
    page.add_param(&sweep.ease);
}

impl Vst3Plugin for Plumbline {
    const VST3_CLASS_ID: [u8; 16] = *b"PlumblineOverhds";
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] = &[
        Vst3SubCategory::Fx,
        Vst3SubCategory::Delay,
        Vst3SubCategory::Tools,
    ];
}
