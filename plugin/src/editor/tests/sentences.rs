//! What the sheet says about what the host gives.

use super::state::State;
use crate::editor::frame::{Activation, Frame};
use crate::editor::wording::notices;

/// The first sentence under the verdict, with the host running so.
fn first(activation: impl FnOnce(Activation) -> Activation) -> Option<String> {
    let frame = State::NotRunning.frame();
    let activation = activation(frame.activation);
    notices(&Frame {
        activation,
        ..frame
    })
    .into_iter()
    .next()
}

#[test]
fn a_rate_that_is_not_measured_is_said_to_be_one() {
    for (rate, said) in [(4_000.0, true), (8_000.0, false), (1e6, true)] {
        let sentence = first(|activation| Activation {
            sample_rate: Some(rate),
            ..activation
        });
        let says = sentence.is_some_and(|text| text.contains("at this sample rate"));
        assert_eq!(says, said, "{rate} Hz");
    }
}

#[test]
fn audio_that_was_left_out_is_said_in_seconds() {
    let sentence = first(|activation| Activation {
        sample_rate: Some(48_000.0),
        dropped_frames: 72_000,
        ..activation
    });
    assert!(sentence.unwrap().starts_with("1.5 s of audio"));
}
