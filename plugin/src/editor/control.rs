//! The window's controls: a name for each parameter, where they stand, and the gestures that the host must see.

use crate::desk::Paper;
use crate::params::PlumblineParams;
use nice_plug::params::Param;
use nice_plug::params::internals::ParamPtr;

/// One parameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Control {
    Mode,
    Bypass,
    Output,
    Monitor,
    Measure,
    Correct,
    Amount,
    Anchor,
    Match,
    Polarity,
    NudgeFirst,
    NudgeSecond,
    Reach,
    SpotTrim,
    Temperature,
    Engage,
    Motion,
    Offset,
    Range,
    Sync,
    Length,
    Rate,
    Curve,
    StartPass,
    Drag,
    Recue,
    Width,
    Blend,
    Flip,
    Wow,
    Flutter,
}

impl Control {
    pub const ALL: [Self; 31] = [
        Self::Mode,
        Self::Bypass,
        Self::Output,
        Self::Monitor,
        Self::Measure,
        Self::Correct,
        Self::Amount,
        Self::Anchor,
        Self::Match,
        Self::Polarity,
        Self::NudgeFirst,
        Self::NudgeSecond,
        Self::Reach,
        Self::SpotTrim,
        Self::Temperature,
        Self::Engage,
        Self::Motion,
        Self::Offset,
        Self::Range,
        Self::Sync,
        Self::Length,
        Self::Rate,
        Self::Curve,
        Self::StartPass,
        Self::Drag,
        Self::Recue,
        Self::Width,
        Self::Blend,
        Self::Flip,
        Self::Wow,
        Self::Flutter,
    ];

    /// The parameter; valid as long as `params` lives.
    pub fn parameter(self, params: &PlumblineParams) -> ParamPtr {
        match self {
            Self::Mode => params.mode.as_ptr(),
            Self::Bypass => params.bypass.as_ptr(),
            Self::Output => params.output.as_ptr(),
            Self::Monitor => params.monitor.as_ptr(),
            Self::Measure => params.measure.as_ptr(),
            Self::Correct => params.correct.as_ptr(),
            Self::Amount => params.amount.as_ptr(),
            Self::Anchor => params.anchor.as_ptr(),
            Self::Match => params.target.as_ptr(),
            Self::Polarity => params.polarity.as_ptr(),
            Self::NudgeFirst => params.nudge_first.as_ptr(),
            Self::NudgeSecond => params.nudge_second.as_ptr(),
            Self::Reach => params.reach.as_ptr(),
            Self::SpotTrim => params.spot_trim.as_ptr(),
            Self::Temperature => params.temperature.as_ptr(),
            Self::Engage => params.sweep.engage.as_ptr(),
            Self::Motion => params.sweep.motion.as_ptr(),
            Self::Offset => params.sweep.offset.as_ptr(),
            Self::Range => params.sweep.range.as_ptr(),
            Self::Sync => params.sweep.sync.as_ptr(),
            Self::Length => params.sweep.length.as_ptr(),
            Self::Rate => params.sweep.rate.as_ptr(),
            Self::Curve => params.sweep.curve.as_ptr(),
            Self::StartPass => params.sweep.start.as_ptr(),
            Self::Drag => params.sweep.drag.as_ptr(),
            Self::Recue => params.sweep.recue.as_ptr(),
            Self::Width => params.sweep.width.as_ptr(),
            Self::Blend => params.sweep.blend.as_ptr(),
            Self::Flip => params.sweep.flip.as_ptr(),
            Self::Wow => params.sweep.wow.as_ptr(),
            Self::Flutter => params.sweep.flutter.as_ptr(),
        }
    }
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
        Self(Control::ALL.map(|control| {
            let parameter = control.parameter(params);
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

/// What is shown on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Page {
    /// The whole sheet.
    #[default]
    Sheet,
    /// Large digits for the one who moves the stands.
    Placement,
}

/// The drawing that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Figure {
    #[default]
    Plan,
    Lag,
    MonoSum,
}

/// The drawing of the decks that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Graph {
    #[default]
    Offset,
    Comb,
}

/// What a hand on the window asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// A hand takes the control.
    Begin(Control),
    /// It is moved to a value in the parameter's own unit.
    Set(Control, f32),
    /// It is let go.
    End(Control),
    Paper(Paper),
    Zoom(f32),
    Page(Page),
    Figure(Figure),
    Graph(Graph),
}

/// A control that is moved at a stroke.
pub fn set_at_once(control: Control, value: f32) -> [Action; 3] {
    [
        Action::Begin(control),
        Action::Set(control, value),
        Action::End(control),
    ]
}
