//! Audio on its way to the analysis: a ring that the audio thread fills and the analysis thread empties.
//!
//! Writer: the audio thread, through [`CaptureWriter`]. Reader: the analysis thread, through [`CaptureReader`]. What does not
//! fit is dropped and counted, and the reader is told that the stream broke.

use super::call::Call;
use super::telemetry::Telemetry;
use plumbline_dsp::measure::DrumChoice;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// First, second and spot at one instant; what is not connected is zero.
type SampleFrame = [f32; 3];

/// How long the analysis may be away before frames are lost: a hundred times its polling interval, so that a host that
/// renders fifty times as fast as the sound and does not say so loses nothing until the analysis has noticed it.
const RING_S: f64 = 1.0;
/// More than this part of the ring at one reading: the stream runs much faster than the sound.
const HURRY: usize = 20;
/// The same in blocks of the host: a long one arrives at once, and the next before the analysis is through with it.
const RING_BLOCKS: usize = 4;

/// Marks on their way at one time. A host that jumps more often than this within half a second loses frames.
const MARKS: usize = 64;

/// Frames the reader takes at a time.
const READ_FRAMES: usize = 1024;

/// What happens to the stream between two frames.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// What follows does not continue what came before.
    Discontinuity,
    /// A new measurement begins.
    Begin(MeasurementStart),
    /// Nothing is measured from here on.
    End,
    /// Another drum is asked for, of what was heard and of what follows.
    Choose(DrumChoice),
    /// The drum is asked for that the next four strokes are played on; the number tells one request from the next.
    NextHits(u32),
}

/// How a measurement begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MeasurementStart {
    /// The state of the session that it belongs to.
    pub epoch: u32,
    /// Hits of the measurement that it would replace: with some, the old one stays until the new one has its first.
    pub old_hits: u32,
}

/// A mark and the number of frames in front of it.
type PositionedMark = (u64, Mark);

/// The audio thread's end.
pub struct CaptureWriter {
    frames: Producer<SampleFrame>,
    marks: Producer<PositionedMark>,
    /// Frames pushed so far.
    pushed: u64,
    /// Frames were dropped, and the reader does not know yet.
    broken: bool,
    call: Call,
    telemetry: Arc<Telemetry>,
}

/// The analysis thread's end.
pub struct CaptureReader {
    frames: Consumer<SampleFrame>,
    marks: Consumer<PositionedMark>,
    /// Frames read so far.
    read: u64,
    channels: [Vec<f32>; 3],
}

/// How fast the stream comes in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// About as fast as the sound, or not at all.
    Calm,
    /// Much faster than the sound: it must be read again soon.
    Hurried,
}

/// What the reader hands over.
pub enum CaptureEvent<'a> {
    Mark(Mark),
    /// First, second, spot, all of one length.
    Audio([&'a [f32]; 3]),
}

/// A ring for one activation: its rate, Hz, and its longest block, samples. Marks call the reader.
pub fn capture(
    sample_rate: f64,
    longest_block: usize,
    call: Call,
    telemetry: Arc<Telemetry>,
) -> (CaptureWriter, CaptureReader) {
    let length = ((RING_S * sample_rate) as usize).max(RING_BLOCKS * longest_block);
    let (frames, frames_out) = touched(length, [0.0; 3]);
    let (marks, marks_out) = touched(MARKS, (0, Mark::End));
    let writer = CaptureWriter {
        frames,
        marks,
        pushed: 0,
        broken: false,
        call,
        telemetry,
    };
    let reader = CaptureReader {
        frames: frames_out,
        marks: marks_out,
        read: 0,
        channels: [(); 3].map(|()| Vec::with_capacity(READ_FRAMES)),
    };
    (writer, reader)
}

/// A ring whose memory has been written to once: the audio thread must not be the first to touch it.
fn touched<T: Copy>(length: usize, filling: T) -> (Producer<T>, Consumer<T>) {
    let (mut writer, mut reader) = RingBuffer::new(length);
    while writer.push(filling).is_ok() {}
    while reader.pop().is_ok() {}
    (writer, reader)
}

impl CaptureWriter {
    /// Puts a mark between the frames before and after.
    pub fn mark(&mut self, mark: Mark) {
        if self.marks.push((self.pushed, mark)).is_err() {
            self.broken = true;
        }
        self.call.make();
    }

    /// Takes the block along whole or not at all. `second` and `spot` may be empty.
    pub fn push(&mut self, first: &[f32], second: &[f32], spot: &[f32]) {
        if self.broken {
            self.broken = self.marks.push((self.pushed, Mark::Discontinuity)).is_err();
        }
        match self.frames.write_chunk_uninit(first.len()) {
            Ok(chunk) if !self.broken => {
                let at = |channel: &[f32], i: usize| channel.get(i).copied().unwrap_or(0.0);
                chunk.fill_from_iter(
                    (0..first.len()).map(|i| [first[i], at(second, i), at(spot, i)]),
                );
                self.pushed += first.len() as u64;
            }
            _ => self.drop_frames(first.len()),
        }
    }

    fn drop_frames(&mut self, count: usize) {
        self.broken = true;
        let dropped = &self.telemetry.dropped_frames;
        dropped.fetch_add(count as u64, Relaxed);
    }
}

impl CaptureReader {
    /// Hands over everything that has come in, in order.
    pub fn read_all(&mut self, mut take: impl FnMut(CaptureEvent<'_>)) -> Pace {
        let before = self.read;
        loop {
            // The frames first: a mark is written before the frames behind it, so it is seen no later than they are.
            let ready = self.frames.slots().min(READ_FRAMES);
            match self.marks.peek().copied() {
                Ok((at, mark)) if at == self.read => {
                    let _ = self.marks.pop();
                    take(CaptureEvent::Mark(mark));
                }
                Ok((at, _)) => self.hand_over(ready.min((at - self.read) as usize), &mut take),
                Err(_) if ready == 0 => break,
                Err(_) => self.hand_over(ready, &mut take),
            }
        }
        let ring = self.frames.buffer().capacity() as u64;
        match (self.read - before) * HURRY as u64 > ring {
            true => Pace::Hurried,
            false => Pace::Calm,
        }
    }

    fn hand_over(&mut self, count: usize, take: &mut impl FnMut(CaptureEvent<'_>)) {
        let Ok(chunk) = self.frames.read_chunk(count) else {
            return;
        };
        self.channels.iter_mut().for_each(Vec::clear);
        for frame in chunk {
            for (channel, sample) in self.channels.iter_mut().zip(frame) {
                channel.push(sample);
            }
        }
        self.read += count as u64;
        take(CaptureEvent::Audio(
            self.channels.each_ref().map(Vec::as_slice),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What came out, marks as `M`, frames as their first channel.
    fn read(reader: &mut CaptureReader) -> Vec<String> {
        let mut out = Vec::new();
        reader.read_all(|event| match event {
            CaptureEvent::Mark(mark) => out.push(format!("{mark:?}")),
            CaptureEvent::Audio([first, ..]) => out.extend(first.iter().map(f32::to_string)),
        });
        out
    }

    #[test]
    fn marks_keep_their_position_between_the_frames() {
        let (mut writer, mut reader) = capture(8_000.0, 0, Call::default(), Arc::default());
        writer.push(&[1.0, 2.0], &[], &[]);
        writer.mark(Mark::Discontinuity);
        writer.mark(Mark::End);
        writer.push(&[3.0], &[], &[]);
        assert_eq!(read(&mut reader), ["1", "2", "Discontinuity", "End", "3"]);
    }

    #[test]
    fn what_does_not_fit_is_counted_and_the_break_is_told() {
        let telemetry = Arc::new(Telemetry::default());
        let (mut writer, mut reader) = capture(8_000.0, 0, Call::default(), Arc::clone(&telemetry));
        writer.push(&[1.0; 7_999], &[], &[]);
        writer.push(&[2.0; 2], &[], &[]);
        assert_eq!(telemetry.dropped_frames.load(Relaxed), 2);
        assert_eq!(read(&mut reader).len(), 7_999);
        writer.push(&[3.0], &[], &[]);
        assert_eq!(read(&mut reader), ["Discontinuity", "3"]);
    }

    #[test]
    fn blocks_of_the_longest_kind_fit_one_behind_the_other() {
        let telemetry = Arc::new(Telemetry::default());
        let (mut writer, _reader) =
            capture(48_000.0, 65_536, Call::default(), Arc::clone(&telemetry));
        (0..RING_BLOCKS * 256).for_each(|_| writer.push(&[1.0; 256], &[], &[]));
        assert_eq!(telemetry.dropped_frames.load(Relaxed), 0);
    }

    #[test]
    fn more_marks_than_fit_break_the_stream_once() {
        let (mut writer, mut reader) = capture(8_000.0, 0, Call::default(), Arc::default());
        (0..MARKS + 3).for_each(|_| writer.mark(Mark::End));
        assert_eq!(read(&mut reader).len(), MARKS);
        writer.push(&[1.0], &[], &[]);
        assert_eq!(read(&mut reader), ["Discontinuity", "1"]);
    }
}
