//! What cannot be worked with: each case a clear message, exit code 2, and nothing written.

use std::path::{Path, PathBuf};

use super::strokes::Strokes;
use crate::command::{Refusal, refused};
use crate::files::{Folder, RATE};

/// What is refused beside a take that is whole.
struct Fixture {
    folder: Folder,
    strokes: Strokes,
    pair: PathBuf,
    spot: PathBuf,
}

impl Fixture {
    fn new() -> Self {
        let (folder, strokes) = (Folder::new(), Strokes::new());
        let [pair, spot] = strokes.store(&folder);
        Self {
            folder,
            strokes,
            pair,
            spot,
        }
    }

    fn refuses(&self, cases: &[Refusal]) {
        refused("align", cases);
        assert!(!self.folder.path("out/pair-aligned.wav").exists());
    }

    /// The pair with options behind it.
    fn on_pair(&self, options: &[&str]) -> Vec<PathBuf> {
        let options = options.iter().map(PathBuf::from);
        [self.pair.clone()].into_iter().chain(options).collect()
    }

    fn wav(&self, name: &str, channels: &[&Vec<f32>]) -> PathBuf {
        self.folder.wav(name, RATE, channels)
    }
}

fn with_spot(pair: &Path, spot: &Path) -> Vec<PathBuf> {
    vec![pair.to_owned(), "--spot".into(), spot.to_owned()]
}

fn apart(first: &Path, second: &Path) -> Vec<PathBuf> {
    vec![
        "--first".into(),
        first.into(),
        "--second".into(),
        second.into(),
    ]
}

#[test]
fn files_that_are_no_audio() {
    let fixture = Fixture::new();
    let (folder, pair) = (&fixture.folder, &fixture.pair);
    let empty = folder.bytes("empty.wav", b"");
    let header_only = folder.wav("header.wav", RATE, &[[0.0; 0]; 2]);
    let text = folder.bytes(
        "text.wav",
        b"This is a shopping list, not a recording of anything at all.",
    );
    let picture = folder.bytes(
        "picture.png",
        b"\x89PNG\r\n\x1a\n0000000000000000000000000000000000000000000",
    );
    let whole = std::fs::read(pair).unwrap();
    let in_header = folder.bytes("cut.wav", &whole[..30]);
    let truncated = folder.bytes("truncated.wav", &whole[..whole.len() / 2]);
    let missing = folder.path("nothing.wav");
    let gone = with_spot(pair, &folder.path("gone.wav"));
    let unknown = &["not a WAV, AIFF or FLAC"];
    fixture.refuses(&[
        (
            "missing",
            vec![missing],
            &["there is no file", "nothing.wav"],
        ),
        ("missing spot", gone, &["there is no file", "gone.wav"]),
        ("folder", vec![folder.path(".")], &["is a folder"]),
        ("empty", vec![empty], &["is empty"]),
        ("no audio", vec![header_only], &["no audio"]),
        ("text", vec![text], unknown),
        ("wrong type", vec![picture], unknown),
        ("cut in the header", vec![in_header], &["truncated"]),
        (
            "truncated",
            with_spot(&truncated, &fixture.spot),
            &["truncated.wav is truncated", "export it again"],
        ),
    ]);
}

#[test]
fn files_that_are_no_take() {
    let fixture = Fixture::new();
    let Strokes {
        first,
        second,
        spot,
    } = &fixture.strokes;
    let mono = fixture.wav("mono.wav", &[first]);
    let three = fixture.wav("three.wav", &[first, second, spot]);
    let short = fixture.wav("short.wav", &[&spot[..RATE as usize].to_vec()]);
    let other_rate = fixture.folder.wav("rate.wav", 44_100, &[spot]);
    fixture.refuses(&[
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
            apart(&mono, &fixture.pair),
            &["take one mono file each"],
        ),
        (
            "rates",
            with_spot(&fixture.pair, &other_rate),
            &["different sample rates", "48000 Hz", "44100 Hz"],
        ),
        (
            "lengths",
            with_spot(&fixture.pair, &short),
            &["different lengths", "48000"],
        ),
    ]);
}

#[test]
fn options_of_the_tape_that_make_no_sense() {
    let fixture = Fixture::new();
    let on_pair = |options: &[&str]| fixture.on_pair(options);
    fixture.refuses(&[
        (
            "tape without a folder",
            on_pair(&["--print"]),
            &["--print needs --out"],
        ),
        (
            "level to tape without a print",
            on_pair(&["--level-to-tape", "6", "--out", "out"]),
            &["--level-to-tape works with --print"],
        ),
        (
            "level to tape",
            on_pair(&["--print", "--level-to-tape", "-13", "--out", "out"]),
            &["-12 to 18"],
        ),
        (
            "tape speed",
            on_pair(&["--print", "--tape-speed", "30", "--out", "out"]),
            &["19, 38, 76"],
        ),
        (
            "equalisation",
            on_pair(&["--print", "--tape-eq", "din", "--out", "out"]),
            &["iec, nab"],
        ),
    ]);
}

#[test]
fn options_that_make_no_sense() {
    let fixture = Fixture::new();
    let on_pair = |options: &[&str]| fixture.on_pair(options);
    let alone = vec!["--first".into(), fixture.pair.clone()];
    fixture.refuses(&[
        ("no arguments", vec![], &["Usage"]),
        ("one of two", alone, &["--second"]),
        (
            "range",
            on_pair(&["--from", "2", "--to", "1"]),
            &["not before"],
        ),
        (
            "anchor",
            on_pair(&["--anchor", "spot"]),
            &["needs a --spot"],
        ),
        ("amount", on_pair(&["--amount", "120"]), &["0 to 100"]),
        (
            "print without a spot",
            on_pair(&["--spot-in-print", "-6", "--out", "out"]),
            &["needs a --kick"],
        ),
        (
            "print without a folder",
            on_pair(&["--spot-in-print", "-6"]),
            &["--out"],
        ),
        (
            "level of the spot",
            on_pair(&["--spot-in-print", "13", "--out", "out"]),
            &["-48 to 12"],
        ),
    ]);
}

#[test]
fn audio_that_cannot_be_measured() {
    let fixture = Fixture::new();
    let (pair, spot) = (&fixture.pair, &fixture.spot);
    let Strokes {
        first,
        second,
        spot: close,
    } = &fixture.strokes;
    let silence = vec![0.0; close.len()];
    let mut broken = second.clone();
    broken[96_000] = f32::NAN;
    let hum = (0..close.len()).map(|n| 0.1 * (n as f32 * 0.013).sin());
    let hum: Vec<f32> = hum.collect();
    let clipped = close.iter().map(|sample| (sample * 40.0).clamp(-1.0, 1.0));
    let clipped: Vec<f32> = clipped.collect();
    let silent_pair = fixture.wav("silent.wav", &[first, &silence]);
    let silent_spot = fixture.wav("silent-spot.wav", &[&silence]);
    let nan = fixture.wav("nan.wav", &[first, &broken]);
    let hum_pair = fixture.wav("hum.wav", &[&hum, &hum]);
    let hum_spot = fixture.wav("hum-spot.wav", &[&hum]);
    let clipped_spot = fixture.wav("clipped.wav", &[&clipped]);
    fixture.refuses(&[
        (
            "silent overhead",
            with_spot(&silent_pair, spot),
            &["second overhead is silent"],
        ),
        (
            "silent spot",
            with_spot(pair, &silent_spot),
            &["silent-spot.wav is silent"],
        ),
        (
            "NaN",
            with_spot(&nan, spot),
            &["nan.wav", "NaN", "2.000 s in channel 2"],
        ),
        ("no hits", with_spot(&hum_pair, &hum_spot), &["no hit"]),
        (
            "all clipped",
            with_spot(pair, &clipped_spot),
            &["hits are clipped"],
        ),
    ]);
}

#[test]
fn folders_that_cannot_be_written() {
    let fixture = Fixture::new();
    let file = fixture.folder.bytes("a-file", b"");
    let to = |out: PathBuf| {
        [
            with_spot(&fixture.pair, &fixture.spot),
            vec!["--out".into(), out],
        ]
        .concat()
    };
    let forced = vec![fixture.pair.clone(), "--force".into()];
    let cannot = &["cannot be made", "--out"];
    fixture.refuses(&[
        (
            "a file where a folder should be",
            to(file.join("deeper")),
            cannot,
        ),
        ("force without a folder", forced, &["--out"]),
    ]);
    #[cfg(target_os = "linux")]
    fixture.refuses(&[(
        "a folder nobody may write",
        to("/proc/plumbline".into()),
        cannot,
    )]);
}
