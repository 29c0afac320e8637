//! How a command fails: bad input (exit code 2) or work that did not succeed (exit code 1).

use std::process::ExitCode;

/// Why a command stopped.
#[derive(Debug)]
pub enum Failure {
    /// The files, folders or options cannot be worked with; the text says what to do. Exit code 2.
    Input(String),
    /// The work itself went wrong. Exit code 1.
    Work(anyhow::Error),
}

/// What every step of a command returns.
pub type Outcome<T = ()> = Result<T, Failure>;

impl Failure {
    /// 1 or 2, as `--help` promises.
    pub fn exit_code(&self) -> ExitCode {
        match self {
            Failure::Input(_) => ExitCode::from(2),
            Failure::Work(_) => ExitCode::from(1),
        }
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Failure::Input(text) => write!(f, "{text}"),
            Failure::Work(error) => write!(f, "{error:#}"),
        }
    }
}

impl<E: Into<anyhow::Error>> From<E> for Failure {
    fn from(error: E) -> Self {
        Failure::Work(error.into())
    }
}

/// Stops with a message about the input.
pub fn refuse<T>(text: impl Into<String>) -> Outcome<T> {
    Err(Failure::Input(text.into()))
}
