//! Which channels carry a signal: the level detector behind the editor's notices about routing.

/// Louder than this a channel is audible: the level under which a meter shows nothing (-60 dB full scale, common
/// practice, no source).
const AUDIBLE_LEVEL: f32 = 0.001;
/// Seconds that a channel may be silent before it counts as not connected: longer than the rests of most grooves.
const HOLD_S: f64 = 2.0;

/// Which of first, second and spot have been audible lately.
#[derive(Default)]
pub struct ChannelActivity {
    /// Seconds since each was audible.
    silent_s: [Option<f64>; 3],
}

impl ChannelActivity {
    /// True when a channel has come or gone.
    pub fn push(&mut self, channels: [&[f32]; 3], sample_rate: f64) -> bool {
        let before = self.audible();
        for (silent_s, channel) in self.silent_s.iter_mut().zip(channels) {
            let audible = channel.iter().any(|sample| sample.abs() > AUDIBLE_LEVEL);
            let length_s = channel.len() as f64 / sample_rate;
            *silent_s = match *silent_s {
                _ if audible => Some(0.0),
                Some(before) if before + length_s < HOLD_S => Some(before + length_s),
                _ => None,
            };
        }
        self.audible() != before
    }

    /// First, second and spot.
    pub fn audible(&self) -> [bool; 3] {
        self.silent_s.map(|silent_s| silent_s.is_some())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_channel_goes_after_two_silent_seconds_and_comes_back_at_once() {
        let (loud, quiet) = ([0.5; 480], [0.0; 480]);
        let mut activity = ChannelActivity::default();
        assert!(activity.push([&loud, &loud, &quiet], 48_000.0));
        assert_eq!(activity.audible(), [true, true, false]);
        let changes = (0..220).filter(|_| activity.push([&loud, &quiet, &quiet], 48_000.0));
        assert_eq!(changes.count(), 1);
        assert_eq!(activity.audible(), [true, false, false]);
        assert!(activity.push([&loud, &quiet, &loud], 48_000.0));
        assert_eq!(activity.audible(), [true, false, true]);
    }
}
