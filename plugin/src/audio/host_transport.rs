//! The host's transport as the core knows it.

use nice_plug::context::process::Transport as HostTransport;
use plumbline_dsp::decks::song_position::{SongPosition, Transport};

/// Of a block's first sample. A host that runs without saying where is taken as standing.
pub fn host_transport(host: &HostTransport) -> Transport {
    let (Some(seconds), Some(beats), true) = (host.pos_seconds(), host.pos_beats(), host.playing)
    else {
        return Transport::Stopped;
    };
    let unknown = SongPosition::default();
    Transport::Running(SongPosition {
        seconds,
        beats,
        tempo_bpm: host.tempo.unwrap_or(unknown.tempo_bpm),
        rise_bpm_per_s: unknown.rise_bpm_per_s,
        bar_beats: host.bar_start_pos_beats().unwrap_or(unknown.bar_beats),
        beats_per_bar: beats_per_bar(host).unwrap_or(unknown.beats_per_bar),
    })
}

/// Quarter notes in one bar.
fn beats_per_bar(host: &HostTransport) -> Option<f64> {
    let (upper, lower) = (host.time_sig_numerator?, host.time_sig_denominator?);
    (lower > 0).then(|| 4.0 * f64::from(upper) / f64::from(lower))
}

/// The same, `samples` later.
pub fn advanced(transport: Transport, samples: usize, sample_rate: f64) -> Transport {
    match transport {
        Transport::Running(position) => {
            Transport::Running(position.after(samples as f64 / sample_rate))
        }
        Transport::Stopped => Transport::Stopped,
    }
}
