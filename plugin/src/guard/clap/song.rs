//! The host's place in the song, later in the block.

use clap_sys::events::{
    CLAP_TRANSPORT_HAS_BEATS_TIMELINE, CLAP_TRANSPORT_HAS_SECONDS_TIMELINE,
    CLAP_TRANSPORT_HAS_TEMPO, CLAP_TRANSPORT_HAS_TIME_SIGNATURE, CLAP_TRANSPORT_IS_PLAYING,
    clap_event_transport,
};
use clap_sys::fixedpoint::{CLAP_BEATTIME_FACTOR, CLAP_SECTIME_FACTOR};

/// The place `frames` after `transport`, as far as the host has said how fast the song runs.
pub(super) fn later(
    transport: &clap_event_transport,
    frames: usize,
    sample_rate: f64,
) -> clap_event_transport {
    let mut later = *transport;
    let says = |flags| transport.flags & flags == flags;
    if frames == 0 || !says(CLAP_TRANSPORT_IS_PLAYING) {
        return later;
    }
    let seconds = frames as f64 / sample_rate;
    if says(CLAP_TRANSPORT_HAS_SECONDS_TIMELINE) {
        later.song_pos_seconds = moved(later.song_pos_seconds, seconds, CLAP_SECTIME_FACTOR);
    }
    if says(CLAP_TRANSPORT_HAS_BEATS_TIMELINE | CLAP_TRANSPORT_HAS_TEMPO) {
        let beats = seconds * transport.tempo / 60.0;
        later.song_pos_beats = moved(later.song_pos_beats, beats, CLAP_BEATTIME_FACTOR);
        turn_bars(&mut later);
    }
    later
}

fn moved(from: i64, by: f64, factor: i64) -> i64 {
    // A float too large for it becomes the largest number.
    from.saturating_add((by * factor as f64).round() as i64)
}

/// Puts the bar's start where the position is.
fn turn_bars(later: &mut clap_event_transport) {
    if later.flags & CLAP_TRANSPORT_HAS_TIME_SIGNATURE == 0 || later.tsig_denom == 0 {
        return;
    }
    let bar = i64::from(later.tsig_num) * 4 * CLAP_BEATTIME_FACTOR / i64::from(later.tsig_denom);
    let into = later.song_pos_beats.saturating_sub(later.bar_start);
    if bar > 0 && into >= bar {
        let bars = into / bar;
        later.bar_start = later.bar_start.saturating_add(bars.saturating_mul(bar));
        later.bar_number = later.bar_number.saturating_add(bars as i32);
    }
}
