//! Reading a WAV, AIFF or FLAC file block by block, one slice a channel, whatever its bit depth.

use std::fs::File;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, Track, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;

use crate::failure::{Failure, Outcome, refuse};

/// One open file. It holds a packet's worth of samples, never the whole file.
pub struct AudioReader {
    path: PathBuf,
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    sample_rate: u32,
    channels: usize,
    /// Frames the file says it has.
    promised: Option<u64>,
    /// Decoded but not yet handed out, one vector a channel.
    pending: Vec<Vec<f32>>,
    /// How much of `pending` was handed out.
    taken: usize,
    /// Frames decoded so far.
    decoded: u64,
}

impl AudioReader {
    /// Opens a file and reads its header.
    pub fn open(path: &Path) -> Outcome<Self> {
        let format = probe(path)?;
        let track = audio_track(path, format.as_ref())?;
        let parameters = audio_parameters(path, track)?;
        let (Some(sample_rate), Some(layout)) = (parameters.sample_rate, &parameters.channels)
        else {
            return refuse(format!(
                "{} does not say its sample rate or channels",
                path.display()
            ));
        };
        let channels = layout.count();
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(parameters, &AudioDecoderOptions::default())
            .map_err(|error| unreadable(path, &error))?;
        let (track, promised) = (track.id, track.num_frames);
        if promised == Some(0) || channels == 0 {
            return refuse(format!(
                "{} holds no audio: the file has a header and nothing else",
                path.display()
            ));
        }
        Ok(Self {
            path: path.to_owned(),
            format,
            decoder,
            track,
            sample_rate,
            channels,
            promised,
            pending: vec![Vec::new(); channels],
            taken: 0,
            decoded: 0,
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Samples a second.
    pub fn sample_rate(&self) -> u32 {
        self.sample_rate
    }

    /// How many channels.
    pub fn channels(&self) -> usize {
        self.channels
    }

    /// Frames the header promises; some FLAC streams do not say.
    pub fn frames(&self) -> Option<u64> {
        self.promised
    }

    /// Fills `channels` (one slice a channel, all of one length); returns the frames written, fewer only at the end.
    pub fn read(&mut self, channels: &mut [&mut [f32]]) -> Outcome<usize> {
        let wanted = channels.first().map_or(0, |channel| channel.len());
        let mut written = 0;
        while written < wanted && self.refill()? {
            written += self.hand_out(channels, written, wanted);
        }
        Ok(written)
    }

    fn hand_out(&mut self, channels: &mut [&mut [f32]], at: usize, end: usize) -> usize {
        let count = (end - at).min(self.pending[0].len() - self.taken);
        for (channel, pending) in channels.iter_mut().zip(&self.pending) {
            channel[at..at + count].copy_from_slice(&pending[self.taken..self.taken + count]);
        }
        self.taken += count;
        count
    }

    /// Decodes the next packet when the last one is used up; false at the end of a whole file.
    fn refill(&mut self) -> Outcome<bool> {
        while self.taken == self.pending[0].len() {
            if !self.decode_packet()? {
                self.check_whole()?;
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn decode_packet(&mut self) -> Outcome<bool> {
        let packet = match self.format.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) => return Ok(false),
            Err(Error::IoError(error)) if error.kind() == ErrorKind::UnexpectedEof => {
                return Ok(false);
            }
            Err(error) => return Err(unreadable(&self.path, &error)),
        };
        self.taken = 0;
        self.pending.iter_mut().for_each(Vec::clear);
        if packet.track_id == self.track {
            let audio = self
                .decoder
                .decode(&packet)
                .map_err(|error| unreadable(&self.path, &error))?;
            audio.copy_to_vecs_planar(&mut self.pending);
            self.check_finite()?;
            self.decoded += self.pending[0].len() as u64;
        }
        Ok(true)
    }

    fn check_finite(&self) -> Outcome {
        for (channel, samples) in self.pending.iter().enumerate() {
            if let Some(at) = samples.iter().position(|sample| !sample.is_finite()) {
                let seconds = (self.decoded + at as u64) as f64 / f64::from(self.sample_rate);
                return refuse(format!(
                    "{} has a sample that is no number (NaN or infinity) at {seconds:.3} s in channel {}: \
                     export the file again, or mend that spot in an editor",
                    self.path.display(),
                    channel + 1
                ));
            }
        }
        Ok(())
    }

    fn check_whole(&self) -> Outcome {
        match self.promised {
            Some(promised) if self.decoded < promised => refuse(format!(
                "{} is truncated: its header promises {promised} frames and only {} are there; copy or export it again",
                self.path.display(),
                self.decoded
            )),
            _ if self.decoded == 0 => refuse(format!("{} holds no audio", self.path.display())),
            _ => Ok(()),
        }
    }
}

fn probe(path: &Path) -> Outcome<Box<dyn FormatReader>> {
    let file = open_file(path)?;
    let mut hint = Hint::new();
    if let Some(extension) = path.extension().and_then(|extension| extension.to_str()) {
        hint.with_extension(extension);
    }
    let stream = MediaSourceStream::new(Box::new(file), Default::default());
    symphonia::default::get_probe()
        .probe(
            &hint,
            stream,
            FormatOptions::default(),
            MetadataOptions::default(),
        )
        .map_err(|error| unreadable(path, &error))
}

fn open_file(path: &Path) -> Outcome<File> {
    let shown = path.display();
    let meta = match std::fs::metadata(path) {
        Ok(meta) => meta,
        Err(error) if error.kind() == ErrorKind::NotFound => {
            return refuse(format!("there is no file {shown}"));
        }
        Err(error) => return refuse(format!("{shown} cannot be opened: {error}")),
    };
    if meta.is_dir() {
        return refuse(format!(
            "{shown} is a folder: name the audio file inside it"
        ));
    }
    if meta.len() == 0 {
        return refuse(format!("{shown} is empty (0 bytes): export it again"));
    }
    File::open(path).map_err(|error| Failure::Input(format!("{shown} cannot be opened: {error}")))
}

fn audio_track<'a>(path: &Path, format: &'a dyn FormatReader) -> Outcome<&'a Track> {
    match format.default_track(TrackType::Audio) {
        Some(track) => Ok(track),
        None => refuse(format!("{} holds no audio track", path.display())),
    }
}

fn audio_parameters<'a>(path: &Path, track: &'a Track) -> Outcome<&'a AudioCodecParameters> {
    match track
        .codec_params
        .as_ref()
        .and_then(|parameters| parameters.audio())
    {
        Some(parameters) => Ok(parameters),
        None => refuse(format!("{} is not PCM or FLAC audio", path.display())),
    }
}

fn unreadable(path: &Path, error: &Error) -> Failure {
    let shown = path.display();
    match error {
        Error::Unsupported(_) => Failure::Input(format!(
            "{shown} is not a WAV, AIFF or FLAC file that can be read here ({error}): convert it to one of these"
        )),
        Error::IoError(cause) if cause.kind() == ErrorKind::UnexpectedEof => Failure::Input(
            format!("{shown} is truncated or not an audio file: it ends inside its header"),
        ),
        Error::IoError(cause) => {
            Failure::Work(anyhow::anyhow!("{shown} could not be read: {cause}"))
        }
        _ => Failure::Input(format!(
            "{shown} is damaged ({error}): copy or export it again"
        )),
    }
}
