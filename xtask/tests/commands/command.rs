//! `cargo xtask` as a child process, and what it answers.

use std::ffi::OsStr;
use std::path::PathBuf;
use std::process::{Command, Output};

use serde_json::Value;

/// Runs a command with these arguments.
pub fn xtask<S: AsRef<OsStr>>(command: &str, arguments: &[S]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_xtask"))
        .arg(command)
        .args(arguments)
        .output()
        .expect("xtask runs")
}

/// What was printed on standard error.
pub fn message(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The one JSON object that was printed.
#[track_caller]
pub fn json(output: &Output) -> Value {
    assert!(output.status.success(), "{}", message(output));
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("one JSON object, and nothing else: {error}"))
}

/// A number of an answer.
#[track_caller]
pub fn number(answer: &Value, key: &str) -> f64 {
    answer[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is a number in {answer}"))
}

/// A command that must be refused: its name, the arguments, and words that the message must hold.
pub type Refusal = (&'static str, Vec<PathBuf>, &'static [&'static str]);

/// Holds each case against the message, the exit code and an empty standard output.
#[track_caller]
pub fn refused(command: &str, cases: &[Refusal]) {
    for (name, arguments, words) in cases {
        let output = xtask(command, arguments);
        let message = message(&output);
        assert_eq!(output.status.code(), Some(2), "{name}: {message}");
        assert!(output.stdout.is_empty(), "{name}: something was printed");
        for word in *words {
            let held = message.contains(word);
            assert!(held, "{name}: {word:?} is not in {message:?}");
        }
    }
}
