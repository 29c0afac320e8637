//! WAV, AIFF and FLAC, 16, 24 and 32 bit and float, and chunks behind the data: the same samples come out.

use xtask::audio::AudioReader;

use crate::align::recordings_folder;
use crate::files::Folder;

const FRAMES: usize = 10_000;

/// Two channels of numbers that 16 bits hold exactly.
fn samples() -> [Vec<i16>; 2] {
    let mut random = fastrand::Rng::with_seed(3);
    [(); 2].map(|()| (0..FRAMES).map(|_| random.i16(..)).collect())
}

fn expected() -> Vec<Vec<f32>> {
    samples()
        .iter()
        .map(|channel| {
            channel
                .iter()
                .map(|sample| f32::from(*sample) / 32768.0)
                .collect()
        })
        .collect()
}

fn read(path: &std::path::Path, block: usize) -> Vec<Vec<f32>> {
    let mut reader =
        AudioReader::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut channels = vec![Vec::new(); reader.channels()];
    loop {
        let mut part = vec![vec![0.0; block]; channels.len()];
        let mut slices: Vec<&mut [f32]> = part.iter_mut().map(Vec::as_mut_slice).collect();
        let count = reader
            .read(&mut slices)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        channels
            .iter_mut()
            .zip(&part)
            .for_each(|(channel, part)| channel.extend_from_slice(&part[..count]));
        if count < block {
            return channels;
        }
    }
}

/// Interleaved bytes of a sample of `bits`, each made by `write`.
fn interleaved(write: impl Fn(i16) -> Vec<u8>) -> Vec<u8> {
    let [first, second] = samples();
    first
        .iter()
        .zip(&second)
        .flat_map(|(a, b)| [write(*a), write(*b)].concat())
        .collect()
}

fn riff(format: u16, bits: u16, data: &[u8], behind: &[u8]) -> Vec<u8> {
    let block = bits / 8 * 2;
    let head: Vec<u8> = [
        &b"WAVEfmt "[..],
        &16u32.to_le_bytes(),
        &format.to_le_bytes(),
        &2u16.to_le_bytes(),
        &48_000u32.to_le_bytes(),
        &(48_000 * u32::from(block)).to_le_bytes(),
        &block.to_le_bytes(),
        &bits.to_le_bytes(),
        b"data",
        &(data.len() as u32).to_le_bytes(),
    ]
    .concat();
    let length = (head.len() + data.len() + behind.len()) as u32;
    [b"RIFF", &length.to_le_bytes()[..], &head, data, behind].concat()
}

/// A chunk such as samplers and sound libraries leave behind the audio.
fn smpl() -> Vec<u8> {
    [b"smpl", &36u32.to_le_bytes()[..], &[0x7f; 36]].concat()
}

fn aiff(data: &[u8]) -> Vec<u8> {
    // 48000 Hz as the 80-bit float of the AIFF-1.3 standard.
    let rate = [0x40, 0x0e, 0xbb, 0x80, 0, 0, 0, 0, 0, 0];
    let common = [
        &2u16.to_be_bytes()[..],
        &(FRAMES as u32).to_be_bytes(),
        &16u16.to_be_bytes(),
        &rate,
    ]
    .concat();
    let sound = [&[0; 8][..], data].concat();
    let chunk =
        |name: &[u8], body: &[u8]| [name, &(body.len() as u32).to_be_bytes(), body].concat();
    let body = [
        b"AIFF".to_vec(),
        chunk(b"COMM", &common),
        chunk(b"SSND", &sound),
    ]
    .concat();
    chunk(b"FORM", &body)
}

#[test]
fn every_depth_reads_the_same() {
    let folder = Folder::new();
    let wide = |sample: i16| i32::from(sample) << 16;
    let files = [
        (
            "16.wav",
            riff(1, 16, &interleaved(|s| s.to_le_bytes().to_vec()), &[]),
        ),
        (
            "24.wav",
            riff(
                1,
                24,
                &interleaved(|s| wide(s).to_le_bytes()[1..].to_vec()),
                &[],
            ),
        ),
        (
            "32.wav",
            riff(1, 32, &interleaved(|s| wide(s).to_le_bytes().to_vec()), &[]),
        ),
        (
            "float.wav",
            riff(
                3,
                32,
                &interleaved(|s| (f32::from(s) / 32768.0).to_le_bytes().to_vec()),
                &[],
            ),
        ),
        (
            "double.wav",
            riff(
                3,
                64,
                &interleaved(|s| (f64::from(s) / 32768.0).to_le_bytes().to_vec()),
                &[],
            ),
        ),
        (
            "chunks.wav",
            riff(1, 16, &interleaved(|s| s.to_le_bytes().to_vec()), &smpl()),
        ),
        ("16.aiff", aiff(&interleaved(|s| s.to_be_bytes().to_vec()))),
    ];
    for (name, bytes) in files {
        let path = folder.bytes(name, &bytes);
        for block in [FRAMES + 1, 4096, 7] {
            assert!(
                read(&path, block) == expected(),
                "{name} in blocks of {block}"
            );
        }
    }
}

#[test]
fn a_truncated_file_is_never_half_read_in_silence() {
    let folder = Folder::new();
    let whole = riff(1, 16, &interleaved(|s| s.to_le_bytes().to_vec()), &[]);
    let path = folder.bytes("half.wav", &whole[..whole.len() / 2]);
    let mut reader = AudioReader::open(&path).unwrap();
    let (mut first, mut second) = (vec![0.0; FRAMES], vec![0.0; FRAMES]);
    let error = reader.read(&mut [&mut first, &mut second]).unwrap_err();
    assert!(
        error.to_string().contains("promises 10000 frames"),
        "{error}"
    );
}

#[test]
fn flac_of_a_recording_reads_as_long_as_it_says() {
    let Some(folder) = recordings_folder() else {
        return;
    };
    let path = folder.join("snares/14a_rimshot/oh/sr_vl1_rr1.flac");
    let channels = read(&path, 4096);
    assert_eq!((channels.len(), channels[0].len()), (2, 149_906));
}

#[test]
fn chunks_behind_a_recording_are_no_audio() {
    let Some(folder) = recordings_folder() else {
        return;
    };
    let path = folder.join("kit/oh_mic/ks_vl3_rr1.wav");
    let samples = hound::WavReader::open(&path).unwrap().len() as usize;
    assert_eq!(read(&path, 4096)[0].len(), samples);
}
