//! The buses a host may choose from: a pair or a single channel, with a stereo or mono spot or without.

use nice_plug::prelude::*;

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
