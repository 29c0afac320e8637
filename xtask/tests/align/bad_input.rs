//! What cannot be worked with: each case a clear message, exit code 2, and nothing written.

use std::path::{Path, PathBuf};

use crate::support::{Folder, RATE, Strokes, align};

/// A case: its name, the arguments, and words that the message must hold.
type Case = (&'static str, Vec<PathBuf>, &'static [&'static str]);

fn refused(folder: &Folder, cases: &[Case]) {
    for (name, arguments, words) in cases {
        let output = align(arguments);
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{name}: {message}");
        assert!(output.stdout.is_empty(), "{name}: something was printed");
        words.iter().for_each(|word| {
            assert!(
                message.contains(word),
                "{name}: {word:?} is not in {message:?}"
            )
        });
        assert!(
            !folder.path("out/pair-aligned.wav").exists(),
            "{name}: a file was written"
        );
    }
}

fn with_spot(pair: &Path, spot: &Path) -> Vec<PathBuf> {
    vec![pair.to_owned(), "--spot".into(), spot.to_owned()]
}

#[test]
fn files_that_are_no_take() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, spot] = strokes.store(&folder);
    let mono = folder.wav("mono.wav", RATE, &[&strokes.first]);
    let three = folder.wav(
        "three.wav",
        RATE,
        &[&strokes.first, &strokes.second, &strokes.spot],
    );
    let short = folder.wav("short.wav", RATE, &[&strokes.spot[..RATE as usize]]);
    let other_rate = folder.wav("rate.wav", 44_100, &[&strokes.spot]);
    let empty = folder.bytes("empty.wav", b"");
    let header_only = folder.wav("header.wav", RATE, &[&[], &[]]);
    let text = folder.bytes(
        "text.wav",
        b"This is a shopping list, not a recording of anything at all.",
    );
    let wrong_type = folder.bytes(
        "picture.png",
        b"\x89PNG\r\n\x1a\n0000000000000000000000000000000000000000000",
    );
    let whole = std::fs::read(&pair).unwrap();
    let in_header = folder.bytes("cut.wav", &whole[..30]);
    let apart = |first: &PathBuf, second: &PathBuf| -> Vec<PathBuf> {
        vec![
            "--first".into(),
            first.clone(),
            "--second".into(),
            second.clone(),
        ]
    };
    refused(
        &folder,
        &[
            (
                "missing",
                vec![folder.path("nothing.wav")],
                &["there is no file", "nothing.wav"],
            ),
            (
                "missing spot",
                with_spot(&pair, &folder.path("gone.wav")),
                &["there is no file", "gone.wav"],
            ),
            ("folder", vec![folder.path(".")], &["is a folder"]),
            ("empty", vec![empty], &["is empty"]),
            ("no audio", vec![header_only], &["no audio"]),
            ("text", vec![text], &["not a WAV, AIFF or FLAC"]),
            ("wrong type", vec![wrong_type], &["not a WAV, AIFF or FLAC"]),
            ("cut in the header", vec![in_header], &["truncated"]),
            (
                "mono",
                vec![mono.clone()],
                &[
                    "mono.wav is mono and a pair is needed",
                    "--first and --second",
                ],
            ),
            ("three channels", vec![three], &["has 3 channels"]),
            (
                "stereo as one of two",
                apart(&mono, &pair),
                &["take one mono file each"],
            ),
            (
                "rates",
                with_spot(&pair, &other_rate),
                &["different sample rates", "48000 Hz", "44100 Hz"],
            ),
            (
                "lengths",
                with_spot(&pair, &short),
                &["different lengths", "48000"],
            ),
            ("no arguments", vec![], &["Usage"]),
            ("one of two", vec!["--first".into(), mono], &["--second"]),
            (
                "range",
                vec![
                    pair.clone(),
                    "--from".into(),
                    "2".into(),
                    "--to".into(),
                    "1".into(),
                ],
                &["not before"],
            ),
            (
                "anchor",
                vec![pair.clone(), "--anchor".into(), "spot".into()],
                &["needs a --spot"],
            ),
            (
                "amount",
                vec![pair, "--spot".into(), spot, "--amount".into(), "120".into()],
                &["0 to 100"],
            ),
        ],
    );
}

#[test]
fn audio_that_cannot_be_measured() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, spot] = strokes.store(&folder);
    let silence = vec![0.0; strokes.spot.len()];
    let mut broken = strokes.second.clone();
    broken[96_000] = f32::NAN;
    let hum: Vec<f32> = (0..strokes.spot.len())
        .map(|n| 0.1 * (n as f32 * 0.013).sin())
        .collect();
    let clipped: Vec<f32> = strokes
        .spot
        .iter()
        .map(|sample| (sample * 40.0).clamp(-1.0, 1.0))
        .collect();
    let whole = std::fs::read(&pair).unwrap();
    let truncated = folder.bytes("truncated.wav", &whole[..whole.len() / 2]);
    let silent_pair = folder.wav("silent.wav", RATE, &[&strokes.first, &silence]);
    let silent_spot = folder.wav("silent-spot.wav", RATE, &[&silence]);
    let nan = folder.wav("nan.wav", RATE, &[&strokes.first, &broken]);
    let hum_pair = folder.wav("hum.wav", RATE, &[&hum, &hum]);
    let hum_spot = folder.wav("hum-spot.wav", RATE, &[&hum]);
    let clipped_spot = folder.wav("clipped.wav", RATE, &[&clipped]);
    refused(
        &folder,
        &[
            (
                "truncated",
                with_spot(&truncated, &spot),
                &["truncated.wav is truncated", "export it again"],
            ),
            (
                "silent overhead",
                with_spot(&silent_pair, &spot),
                &["second overhead is silent"],
            ),
            (
                "silent spot",
                with_spot(&pair, &silent_spot),
                &["silent-spot.wav is silent"],
            ),
            (
                "NaN",
                with_spot(&nan, &spot),
                &["nan.wav", "NaN", "2.000 s in channel 2"],
            ),
            ("no hits", with_spot(&hum_pair, &hum_spot), &["no hit"]),
            (
                "all clipped",
                with_spot(&pair, &clipped_spot),
                &["hits are clipped"],
            ),
        ],
    );
}

#[test]
fn places_that_cannot_be_written() {
    let folder = Folder::new();
    let [pair, spot] = Strokes::new().store(&folder);
    let file = folder.bytes("a-file", b"");
    let to = |out: PathBuf| -> Vec<PathBuf> {
        [with_spot(&pair, &spot), vec!["--out".into(), out]].concat()
    };
    refused(
        &folder,
        &[
            (
                "a file where a folder should be",
                to(file.join("deeper")),
                &["cannot be made", "--out"],
            ),
            (
                "force without a folder",
                vec![pair.clone(), "--force".into()],
                &["--out"],
            ),
        ],
    );
    #[cfg(target_os = "linux")]
    refused(
        &folder,
        &[(
            "a folder nobody may write",
            to("/proc/plumbline".into()),
            &["cannot be made", "--out"],
        )],
    );
}
