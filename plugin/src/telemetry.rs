//! Out of the audio thread and back: the newest value wins, nobody waits.

#[cfg(feature = "editor")]
use plumbline_dsp::decks::preview::DeckState;
#[cfg(feature = "editor")]
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::measure::lag_curve::LagCurve;
use plumbline_dsp::measurement::{Hit, Measurement};
use plumbline_dsp::meters::pair_spectrum::PairSpectrum;
use std::array;
use std::cell::UnsafeCell;
use std::sync::Arc;
use std::sync::atomic::{
    AtomicBool, AtomicU8, AtomicU32, AtomicU64, Ordering::AcqRel, Ordering::Relaxed,
};

use atomic_float::AtomicF64;

/// Most hits the log keeps: as many as the analyser does.
pub const LOG_LENGTH: usize = 64;

/// What the measurement says, and for which state of the session.
///
/// Writer: whoever owns the analysis (its thread, or the audio thread of an offline render). Readers: one slot goes
/// to the audio thread, another to whoever saves the session.
#[derive(Clone, Copy, Debug)]
pub struct Report {
    pub measurement: Measurement,
    /// Oldest first; only the first `log_length` are filled.
    pub log: [Option<Hit>; LOG_LENGTH],
    /// Rises with every measurement that the host loads: an older report is out of date.
    pub epoch: u32,
}

impl Default for Report {
    fn default() -> Self {
        Self {
            measurement: Measurement::default(),
            log: [None; LOG_LENGTH],
            epoch: 0,
        }
    }
}

/// What the editor draws of the hits.
///
/// Writer: the analysis thread, while somebody looks on. Reader: the editor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture {
    /// Of the measurement that it belongs to.
    pub epoch: u32,
    /// A hit of first, second and spot in the last two seconds was loud enough to be one.
    pub heard: [bool; 3],
    pub curve: LagCurve,
    /// Of first and second; of a mono main: of spot and channel.
    pub spectrum: PairSpectrum,
}

impl Default for Picture {
    fn default() -> Self {
        Self {
            epoch: 0,
            heard: [false; 3],
            curve: LagCurve::EMPTY,
            spectrum: PairSpectrum::EMPTY,
        }
    }
}

/// Where the moving deck is; `None` without the decks.
#[cfg(feature = "editor")]
pub type Deck = Option<DeckState>;

/// What the host's transport does.
#[cfg(feature = "editor")]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Song {
    #[default]
    Stands,
    Runs,
}

#[cfg(feature = "editor")]
impl Song {
    pub fn of(place: Transport) -> Self {
        match place {
            Transport::Running(_) => Self::Runs,
            Transport::Standing => Self::Stands,
        }
    }
}

/// What is shown of the decks.
///
/// Writer: the audio thread, once a block while a window is open. Reader: the editor.
#[cfg(feature = "editor")]
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Reels {
    pub deck: Deck,
    pub song: Song,
}

#[cfg(feature = "editor")]
impl Reels {
    /// True when nothing but the time has changed since `other`.
    pub fn stand_as(&self, other: &Self) -> bool {
        let place = |reels: &Self| reels.deck.map(|deck| (deck.offset_s, deck.cue));
        self.song == other.song && place(self) == place(other)
    }
}

/// Who looks at the pictures.
pub trait Onlooker: Send + Sync {
    /// A window is open: pictures are wanted.
    fn looks(&self) -> bool;
    /// There is something new to see. Wait-free.
    fn wake(&self);
}

/// No window was built in.
#[cfg(not(feature = "editor"))]
pub struct Nobody;

#[cfg(not(feature = "editor"))]
impl Onlooker for Nobody {
    fn looks(&self) -> bool {
        false
    }

    fn wake(&self) {}
}

/// What the audio thread is doing right now. Writer: the audio thread. Readers: the editor, whoever saves the session.
#[derive(Debug, Default)]
pub struct Telemetry {
    /// Shift of the first channel that is applied, seconds.
    pub first_s: AtomicF64,
    /// Shift of the second channel that is applied, seconds.
    pub second_s: AtomicF64,
    /// The second channel (of a mono main: the channel) is turned over.
    pub flip: AtomicBool,
    /// How much more reach the correction needs, seconds.
    pub missing_reach_s: AtomicF64,
    /// Moving deck minus fixed deck, seconds; zero without the decks.
    pub offset_s: AtomicF64,
    /// Samples a second of the activation; 0 before the first.
    pub sample_rate: AtomicF64,
    /// Samples from input to output.
    pub latency: AtomicU32,
    /// Reach that is active, seconds.
    pub reach_s: AtomicF64,
    /// Main channels, 1 or 2.
    pub channels: AtomicU32,
    /// The layout has a spot.
    pub spot: AtomicBool,
    /// Frames that found the way to the analysis full, since the plugin was made.
    pub dropped_frames: AtomicU64,
}

/// Set in `middle` when the value there has not been read yet.
const FRESH: u8 = 4;

/// Three cells: the writer owns one, the reader owns one, the third changes hands through `middle`.
struct Cells<T> {
    cells: [UnsafeCell<T>; 3],
    middle: AtomicU8,
}

// SAFETY: a cell is only touched by the side that owns its index; ownership moves by an acquire-release swap.
unsafe impl<T: Send> Sync for Cells<T> {}

/// The one writer of a slot.
pub struct SlotWriter<T> {
    cells: Arc<Cells<T>>,
    own: u8,
}

/// The one reader of a slot.
pub struct SlotReader<T> {
    cells: Arc<Cells<T>>,
    own: u8,
}

/// A slot for the newest value of a kind: writing and reading are wait-free and allocate nothing.
pub fn slot<T: Copy + Default>() -> (SlotWriter<T>, SlotReader<T>) {
    let cells = Arc::new(Cells {
        cells: array::from_fn(|_| UnsafeCell::new(T::default())),
        middle: AtomicU8::new(1),
    });
    let writer = SlotWriter {
        cells: Arc::clone(&cells),
        own: 0,
    };
    (writer, SlotReader { cells, own: 2 })
}

impl<T: Copy> SlotWriter<T> {
    /// Puts a value in place of the one before, read or not.
    pub fn write(&mut self, value: T) {
        // SAFETY: this cell is the writer's until the swap below gives it away.
        unsafe { *self.cells.cells[usize::from(self.own)].get() = value };
        self.own = self.cells.middle.swap(self.own | FRESH, AcqRel) & !FRESH;
    }
}

impl<T: Copy> SlotReader<T> {
    /// The newest value, once.
    pub fn take(&mut self) -> Option<&T> {
        if self.cells.middle.load(Relaxed) & FRESH == 0 {
            return None;
        }
        self.own = self.cells.middle.swap(self.own, AcqRel) & !FRESH;
        // SAFETY: this cell is the reader's until the next `take`, which needs `self` again.
        Some(unsafe { &*self.cells.cells[usize::from(self.own)].get() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_value_wins_and_is_read_once() {
        let (mut writer, mut reader) = slot::<u64>();
        assert!(reader.take().is_none());
        writer.write(1);
        writer.write(2);
        assert_eq!(reader.take(), Some(&2));
        assert!(reader.take().is_none());
    }

    #[test]
    fn values_read_while_writing_are_whole_and_never_go_back() {
        let (mut writer, mut reader) = slot::<[u64; 16]>();
        let writing = std::thread::spawn(move || (1..=100_000).for_each(|i| writer.write([i; 16])));
        let mut last = 0;
        while last < 100_000 {
            let Some(value) = reader.take() else { continue };
            assert!(value.iter().all(|&x| x == value[0]), "torn: {value:?}");
            assert!(value[0] > last, "went back from {last} to {}", value[0]);
            last = value[0];
        }
        writing.join().unwrap();
    }
}
