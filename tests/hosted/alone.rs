//! A process for one test, so that its counts are its own.

use std::process::Command;

/// Set for the process that does the work.
const IN_OWN_PROCESS: &str = "PLUMBLINE_TEST_OWN_PROCESS";

/// Runs a test, named as cargo names it, alone in a new process.
pub fn alone(name: &str, test: impl FnOnce()) {
    match is_own_process() {
        true => test(),
        false => run(name, |_| {}),
    }
}

/// True in the process that does the work.
pub fn is_own_process() -> bool {
    std::env::var_os(IN_OWN_PROCESS).is_some()
}

/// Starts that process for a test, after `prepare`, and passes on what it says.
pub fn run(name: &str, prepare: impl FnOnce(&mut Command)) {
    let own = std::env::current_exe().expect("this program");
    let mut command = Command::new(own);
    command
        .args([name, "--exact", "--nocapture"])
        .env(IN_OWN_PROCESS, "1");
    prepare(&mut command);
    let output = command.output().expect("the test runs");
    let words = String::from_utf8_lossy(&output.stdout);
    println!("{words}{}", String::from_utf8_lossy(&output.stderr));
    assert!(words.contains("1 passed"), "{name}: {}", output.status);
}
