//! `cargo xtask preview` on a virtual screen.

#![cfg(target_os = "linux")]

use plumbline_hosting::Screen;
use std::process::{Command, Output};

/// What the command says when `DISPLAY` is this.
fn preview(display: Option<&str>) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_xtask"));
    command
        .args(["preview", "--seconds", "3"])
        .env_remove("DISPLAY");
    if let Some(display) = display {
        command.env("DISPLAY", display);
    }
    command.output().expect("the command runs")
}

#[test]
fn it_plays_measures_and_closes_by_itself() {
    let Some(screen) = Screen::start().expect("a screen") else {
        println!("skipped: no Xvfb");
        return;
    };
    let said = preview(Some(screen.display()));
    let words = String::from_utf8_lossy(&said.stdout);
    println!("{words}{}", String::from_utf8_lossy(&said.stderr));
    assert!(said.status.success());
    let hits = words
        .lines()
        .find_map(|line| line.strip_suffix(" hits of the aligned drum measured"));
    let hits: u32 = hits.and_then(|hits| hits.parse().ok()).expect("a number");
    // The first bar has two strokes and a ghost note, and a hit is told when its window is over.
    assert!((2..=5).contains(&hits), "{hits}");
}

#[test]
fn without_a_display_it_says_so() {
    let said = preview(None);
    assert_eq!(said.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&said.stderr).contains("DISPLAY"));
}
