//! The window's controls: a name for each parameter, and where they stand.

use crate::params::PlumblineParams;
use nice_plug::params::Param;
use nice_plug::params::internals::ParamPtr;

/// Names each control once, with the field that holds its parameter.
macro_rules! controls {
    ($($control:ident => $($field:ident).+,)*) => {
        /// One parameter.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Control {
            $($control,)*
        }

        impl Control {
            pub const ALL: &[Self] = &[$(Self::$control),*];

            /// The parameter; valid as long as `params` lives.
            pub fn parameter(self, params: &PlumblineParams) -> ParamPtr {
                match self {
                    $(Self::$control => params.$($field).+.as_ptr(),)*
                }
            }
        }
    };
}

controls! {
    Mode => mode,
    Bypass => bypass,
    Output => output,
    Monitor => monitor,
    Compare => compare,
    Measure => measure,
    Correct => correct,
    Amount => amount,
    Anchor => anchor,
    Match => target,
    Drum => drum,
    Polarity => polarity,
    NudgeFirst => nudge_first,
    NudgeSecond => nudge_second,
    Reach => reach,
    SpotTrim => spot_trim,
    SpotLevel => spot_level,
    Temperature => temperature,
    Print => print.on,
    TapeLevel => print.level,
    TapeSpeed => print.speed,
    TapeEqualisation => print.equalisation,
    TapeNoise => print.hiss,
    Fluxivity => print.fluxivity,
    ReferenceLevel => print.reference,
    Engage => sweep.engage,
    Motion => sweep.motion,
    Offset => sweep.offset,
    Range => sweep.range,
    Sync => sweep.sync,
    Length => sweep.length,
    Rate => sweep.rate,
    Curve => sweep.curve,
    StartPass => sweep.start,
    NullAt => sweep.null_at,
    Ease => sweep.ease,
    Drag => sweep.drag,
    Recue => sweep.recue,
    Width => sweep.width,
    Blend => sweep.blend,
    Flip => sweep.flip,
    Wow => sweep.wow,
    Flutter => sweep.flutter,
}

/// Where one control stands, in the parameter's own unit; a choice by its index, a switch as 0 or 1.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Knob {
    pub value: f32,
    pub default: f32,
    pub min: f32,
    pub max: f32,
}

/// Where all controls stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knobs([Knob; Control::ALL.len()]);

impl Knobs {
    /// As the host has set them.
    pub fn of(params: &PlumblineParams) -> Self {
        Self(std::array::from_fn(|index| {
            let parameter = Control::ALL[index].parameter(params);
            // SAFETY: `params` is borrowed for as long as its parameter is read.
            unsafe {
                Knob {
                    value: parameter.unmodulated_plain_value(),
                    default: parameter.default_plain_value(),
                    min: parameter.preview_plain(0.0),
                    max: parameter.preview_plain(1.0),
                }
            }
        }))
    }

    pub fn get(&self, control: Control) -> Knob {
        self.0[control as usize]
    }

    /// Index of a choice.
    pub fn choice(&self, control: Control) -> usize {
        self.get(control).value as usize
    }

    pub fn is_on(&self, control: Control) -> bool {
        self.get(control).value >= 0.5
    }

    #[cfg(test)]
    pub fn set(&mut self, control: Control, value: f32) {
        self.0[control as usize].value = value;
    }
}
