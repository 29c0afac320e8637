//! The buses a host may choose from: a pair or a single channel, with a stereo or mono spot or without.

use nice_plug::prelude::*;
use plumbline_dsp::channels::Inputs;

/// A stereo spot comes first: VST3 hosts start from the first layout, and hand over stereo side chains.
pub const LAYOUTS: &[AudioIOLayout] = &[
    layout(2, &[STEREO], "Stereo, stereo spot"),
    layout(2, &[MONO], "Stereo, mono spot"),
    layout(1, &[MONO], "Mono, mono spot"),
    layout(1, &[STEREO], "Mono, stereo spot"),
    layout(2, &[], "Stereo"),
    layout(1, &[], "Mono"),
];

const MONO: NonZeroU32 = new_nonzero_u32(1);
const STEREO: NonZeroU32 = new_nonzero_u32(2);

/// The main ports stay unnamed: the framework gives the output the input's name.
const fn layout(main: u32, spot: &'static [NonZeroU32], name: &'static str) -> AudioIOLayout {
    AudioIOLayout {
        main_input_channels: NonZeroU32::new(main),
        main_output_channels: NonZeroU32::new(main),
        aux_input_ports: spot,
        aux_output_ports: &[],
        names: PortNames {
            layout: Some(name),
            aux_inputs: &["Spot"],
            ..PortNames::const_default()
        },
    }
}

/// Main channels.
pub fn channels(layout: &AudioIOLayout) -> usize {
    layout
        .main_input_channels
        .map_or(0, |count| count.get() as usize)
}

/// Side chain's channels; 0 without one.
fn spot_channels(layout: &AudioIOLayout) -> usize {
    let spot = layout.aux_input_ports.first();
    spot.map_or(0, |count| count.get() as usize)
}

/// Place in the list of the layout of so many main channels and so many of the spot.
pub fn layout_of(main: usize, spot: usize) -> Option<usize> {
    let mut layouts = LAYOUTS.iter();
    layouts.position(|layout| (channels(layout), spot_channels(layout)) == (main, spot))
}

/// There is a side chain.
pub fn has_spot(layout: &AudioIOLayout) -> bool {
    !layout.aux_input_ports.is_empty()
}

/// What a layout lets the analyser measure.
pub fn inputs(layout: &AudioIOLayout) -> Option<Inputs> {
    match (channels(layout), has_spot(layout)) {
        (2, true) => Some(Inputs::PairAndSpot),
        (2, false) => Some(Inputs::Pair),
        (_, true) => Some(Inputs::MonoAndSpot),
        (_, false) => None,
    }
}
