//! The built plugin with its editor in a window, while the demo's four bars run round and round.

use std::time::{Duration, Instant};

use plumbline_hosting::{Bundle, Instance, Layout, Session, Song, Tempo, Window, WindowStatus};

use crate::failure::Outcome;
use crate::simulation::barn::{self, SAMPLE_RATE};
use crate::simulation::groove;

/// Frames that are processed at once: 10 ms.
pub const BLOCK: usize = SAMPLE_RATE as usize / 100;
/// Quarter notes that are repeated.
const BEATS: f64 = 16.0;

/// First, second and spot; no spot where it is empty.
#[derive(Clone, Debug)]
pub struct Tracks {
    pub overheads: [Vec<f32>; 2],
    pub spot: Vec<f32>,
}

impl Tracks {
    /// The demo's overheads with the snare's microphone.
    pub fn demo() -> Self {
        let session = barn::record();
        Self {
            overheads: session.overheads,
            spot: session.snare,
        }
    }

    /// The demo's kick microphone.
    pub fn kick() -> Vec<f32> {
        barn::record().kick
    }

    fn layout(&self) -> Layout {
        match self.spot.is_empty() {
            true => Layout::Stereo,
            false => Layout::StereoSpotMono,
        }
    }
}

/// An instance at work with an open window.
pub struct WindowSession {
    pub instance: Instance,
    pub window: Window,
    tracks: Tracks,
    /// Frames played so far.
    frames: usize,
}

impl WindowSession {
    /// Makes an instance, lets it be prepared, and opens its editor on the display.
    pub fn open(
        bundle: &Bundle,
        tracks: Tracks,
        prepare: impl FnOnce(&mut Instance) -> anyhow::Result<()>,
    ) -> Outcome<Self> {
        let mut instance = bundle.open(&Session {
            sample_rate: SAMPLE_RATE.into(),
            max_block: BLOCK as u32,
            layout: tracks.layout(),
            offline: false,
        })?;
        prepare(&mut instance)?;
        instance.restart()?;
        instance.play_from(Some(Song {
            seconds: 0.0,
            tempo: Tempo::steady(groove::TEMPO),
            beats_per_bar: 4,
        }));
        let window = Window::open("Plumbline", (0, 0))?;
        instance.open_editor(&window)?;
        Ok(Self {
            instance,
            window,
            tracks,
            frames: 0,
        })
    }

    /// Plays one block and does what the plugin asked for meanwhile.
    pub fn play_block(&mut self) -> Outcome {
        let around = (BEATS * 60.0 / groove::TEMPO * f64::from(SAMPLE_RATE)).round() as usize;
        let lead = (groove::first_bar_s() * f64::from(SAMPLE_RATE)).round() as usize;
        let at = |frame: usize| lead + (self.frames + frame) % around;
        let block = |track: &Vec<f32>| (0..BLOCK).map(|i| track[at(i)]).collect::<Vec<f32>>();
        let [mut first, mut second] = self.tracks.overheads.each_ref().map(block);
        let spot: Vec<_> = [&self.tracks.spot]
            .into_iter()
            .filter(|spot| !spot.is_empty())
            .map(block)
            .collect();
        let spot: Vec<&[f32]> = spot.iter().map(Vec::as_slice).collect();
        self.instance
            .process(&mut [&mut first, &mut second], &spot)?;
        self.frames += BLOCK;
        self.instance.restart_if_requested()?;
        self.instance.serve_editor(&self.window)?;
        Ok(())
    }

    /// Moves the second overhead away: from now on it comes so many samples later.
    pub fn put_second_farther(&mut self, samples: usize) {
        self.tracks.overheads[1].rotate_right(samples);
    }

    /// Plays at the pace of a sound card until the window is closed or the time is over.
    pub fn play(&mut self, time: Duration) -> Outcome {
        let begin = Instant::now();
        let block = Duration::from_secs(1) / (SAMPLE_RATE / BLOCK as u32);
        let mut due = Duration::ZERO;
        while due < time {
            self.play_block()?;
            match self.window.status()? {
                WindowStatus::Closed => return Ok(()),
                WindowStatus::Resized(width, height) => {
                    self.instance.resize_editor(&self.window, (width, height))?;
                }
                WindowStatus::Open => {}
            }
            due += block;
            std::thread::sleep(due.saturating_sub(begin.elapsed()));
        }
        Ok(())
    }
}

impl Drop for WindowSession {
    /// The editor is closed before its window.
    fn drop(&mut self) {
        self.instance.close_editor();
    }
}
