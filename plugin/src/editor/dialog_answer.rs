//! A file dialog that gave no file: closed by the user, or never opened because the system has none.

use std::time::{Duration, Instant};

/// Sooner than this no hand closes a dialog (measured without one: the library answers within some milliseconds).
const TOO_SOON: Duration = Duration::from_millis(300);
const NO_DIALOG: &str = "no file dialog opens on this system: a desktop portal or zenity is needed";

/// What is said after a dialog that was asked for at `asked`: what was said before, or that there is none.
pub fn without_file<Status>(
    asked: Instant,
    before: Status,
    failed: impl FnOnce(String) -> Status,
) -> Status {
    match asked.elapsed() < TOO_SOON {
        true => failed(NO_DIALOG.to_owned()),
        false => before,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dialog_that_never_opened_is_told_from_one_that_was_closed() {
        let now = Instant::now();
        let said = without_file(now, "before".to_owned(), |why| why);
        assert_eq!(said, NO_DIALOG);
        let long_ago = now.checked_sub(2 * TOO_SOON).unwrap();
        let said = without_file(long_ago, "before".to_owned(), |why| why);
        assert_eq!(said, "before");
    }
}
