//! Files that a decoder library reads: WAV, AIFF and FLAC, packet by packet.

use std::io::ErrorKind;
use std::path::Path;

use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, Track, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;

use super::source::{Shape, Source, open_file};
use crate::failure::{Failure, Outcome, refuse};

/// One open file and its decoder.
pub struct DecodedFile {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
}

impl DecodedFile {
    /// Opens a file and reads its header.
    pub fn open(path: &Path) -> Outcome<(Self, Shape)> {
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
        let shape = Shape {
            sample_rate,
            channels: layout.count(),
            frames: track.num_frames,
        };
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(parameters, &AudioDecoderOptions::default())
            .map_err(|error| unreadable(path, &error))?;
        let track = track.id;
        let file = Self {
            format,
            decoder,
            track,
        };
        Ok((file, shape))
    }
}

impl Source for DecodedFile {
    fn next(&mut self, path: &Path, channels: &mut Vec<Vec<f32>>) -> Outcome<bool> {
        let packet = match self.format.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) => return Ok(false),
            Err(Error::IoError(error)) if error.kind() == ErrorKind::UnexpectedEof => {
                return Ok(false);
            }
            Err(error) => return Err(unreadable(path, &error)),
        };
        channels.iter_mut().for_each(Vec::clear);
        if packet.track_id == self.track {
            let audio = self
                .decoder
                .decode(&packet)
                .map_err(|error| unreadable(path, &error))?;
            audio.copy_to_vecs_planar(channels);
        }
        Ok(true)
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
