//! What cannot be worked with: each case a clear message, exit code 2, nothing written, nothing lost.

use super::{noise, sweep};
use crate::files::{Folder, RATE, read};

/// Options, and words that the message must hold.
const OPTIONS: [(&str, &[&str]); 30] = [
    ("", &["--motion"]),
    ("--motion hand", &["needs --offset", "3:-2,5:0,7:2"]),
    ("--motion drag", &["needs --drag"]),
    ("--motion cycle --drag 20", &["works with --motion drag"]),
    ("--motion cycle --start-at 2", &["works with --motion pass"]),
    ("--motion pass --start-at 2.5", &["on a bar line", "2.5"]),
    ("--motion cycle --null-at 3", &["work with --motion pass"]),
    (
        "--motion pass --null-at 3 --start-at 2",
        &["cannot be used with"],
    ),
    ("--motion pass --ease 3", &["0 to 2"]),
    ("--motion pass --length 3bars", &["2bars, 4bars"]),
    (
        "--motion pass --length 2bars --rate 1",
        &["cannot be used with"],
    ),
    ("--motion hand --offset 13", &["within -12 to 12"]),
    (
        "--motion hand --offset 5:0,3:1",
        &["bar 3 comes after bar 5"],
    ),
    ("--motion cycle --range 0", &["0.05 to 12"]),
    ("--motion cycle --tempo 0", &["20 to 400"]),
    ("--motion cycle --tempo 1:90,5:500", &["20 to 400"]),
    ("--motion cycle --tempo 5:90,5:100", &["3:100,9:120"]),
    ("--motion cycle --tempo 1:90,2:95,3:100", &["3:100,9:120"]),
    ("--motion cycle --from 5 --to 3", &["not before"]),
    ("--motion cycle --wow 2", &["0 to 0.5"]),
    (
        "--motion cycle --level-to-tape 6",
        &["--level-to-tape works with --print"],
    ),
    (
        "--motion cycle --tape-eq nab",
        &["--tape-eq works with --print"],
    ),
    ("--motion cycle --print --level-to-tape 19", &["-12 to 18"]),
    (
        "--motion cycle --print --level-to-tape hot",
        &["not a number"],
    ),
    ("--motion cycle --print --tape-speed 15", &["19, 38, 76"]),
    ("--motion cycle --print --tape-eq ccir", &["iec, nab"]),
    ("--motion cycle --print --fluxivity 0", &["100 to 1000"]),
    ("--motion cycle --print --tape-noise -30", &["-80 to -40"]),
    ("--start waltz", &["no starting point", "Slow breath"]),
    ("--motion waltz", &["hand, cycle, pass, drag"]),
];

#[test]
fn options_that_make_no_sense() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, 1_000));
    let out = folder.path("out.wav");
    for (options, words) in OPTIONS {
        let output = sweep(&file, &out, options);
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{options}: {message}");
        for word in words {
            assert!(
                message.contains(word),
                "{options}: {word:?} is not in {message:?}"
            );
        }
        assert!(!out.exists(), "{options}: a file was written");
    }
}

#[test]
fn files_that_are_no_print() {
    let folder = Folder::new();
    let mut broken = noise(2, 1_000);
    broken[1][500] = f32::NAN;
    std::fs::write(
        folder.path("text.wav"),
        "a shopping list and nothing else at all",
    )
    .unwrap();
    folder.wav("empty.wav", RATE, &[[0.0f32; 0]; 2]);
    folder.wav("three.wav", RATE, &noise(3, 1_000));
    folder.wav("broken.wav", RATE, &broken);
    let out = folder.path("out.wav");
    for (name, words) in [
        ("gone.wav", "there is no file"),
        ("text.wav", "not a WAV, AIFF or FLAC"),
        ("empty.wav", "no audio"),
        (
            "three.wav",
            "3 channels: the decks take a mono or a stereo file",
        ),
        ("broken.wav", "broken.wav"),
    ] {
        let output = sweep(&folder.path(name), &out, "--motion cycle");
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{name}: {message}");
        assert!(message.contains(words), "{name}: {message}");
        let left = std::fs::read_dir(folder.path("")).unwrap().flatten();
        let left: Vec<_> = left.map(|file| file.file_name()).collect();
        assert_eq!(left.len(), 4, "{name}: something was written: {left:?}");
    }
}

#[test]
fn nothing_is_replaced_without_force_and_the_print_itself_never() {
    let folder = Folder::new();
    let input = noise(2, 1_000);
    let file = folder.wav("in.wav", RATE, &input);
    let old = folder.path("old.wav");
    std::fs::write(&old, b"precious").unwrap();
    let output = sweep(&file, &old, "--motion cycle");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--force"));
    assert_eq!(std::fs::read(&old).unwrap(), b"precious");
    let output = sweep(&file, &file, "--motion cycle --force");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("the file to read"));
    assert!(read(&file) == input);
    let output = sweep(&file, &old, "--motion cycle --force");
    assert!(output.status.success());
    assert_eq!(read(&old)[0].len(), 1_000);
}
