//! Reads what cargo test prints, line by line: which test of which package passed, failed or was skipped.

use crate::project::workspace::Target;

/// What a test prints when what it needs is not there.
const SKIPPED: &str = "skipped:";

/// Lines kept for the case that cargo test ends without naming a test.
const TAIL: usize = 60;

/// One thing that failed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failed {
    /// Test or check.
    pub name: String,
    /// The command that runs it alone.
    pub alone: String,
    /// What it said.
    pub words: String,
    /// A test of cargo test, not a check of ours.
    pub is_test: bool,
}

/// Counts and words so far.
pub struct Report {
    targets: Vec<Target>,
    /// Checks and tests that passed.
    pub passed: usize,
    /// Those that failed.
    pub failed: Vec<Failed>,
    /// Tests that said they were skipped, or are marked to be ignored.
    pub skipped: Vec<String>,
    /// Arguments that choose the test binary whose lines are read.
    binary: String,
    /// The test whose output is read.
    speaking: Option<String>,
    tail: Vec<String>,
}

impl Report {
    /// An empty report on packages with these targets.
    pub fn new(targets: Vec<Target>) -> Self {
        Self {
            targets,
            passed: 0,
            failed: Vec::new(),
            skipped: Vec::new(),
            binary: String::new(),
            speaking: None,
            tail: Vec::new(),
        }
    }

    /// Notes a check that failed.
    pub fn fail(&mut self, name: &str, alone: &str, words: &str) {
        self.failed.push(Failed {
            name: name.to_owned(),
            alone: alone.to_owned(),
            words: words.to_owned(),
            is_test: false,
        });
    }

    /// Gives the last failure the last lines that were read.
    pub fn keep_tail(&mut self) {
        let tail = self.tail.join("\n");
        if let Some(failed) = self.failed.last_mut() {
            failed.words = format!("{}\n{tail}", failed.words);
        }
    }

    /// Takes the next line.
    pub fn read(&mut self, line: &str) {
        self.tail.push(line.to_owned());
        if self.tail.len() > TAIL {
            self.tail.remove(0);
        }
        let trimmed = line.trim();
        if let Some(rest) = trimmed.strip_prefix("Running ") {
            self.binary = self.arguments_of(rest);
            self.speaking = None;
        } else if let Some(krate) = trimmed.strip_prefix("Doc-tests ") {
            self.binary = format!("-p {} --doc", self.package_of(krate, "lib"));
            self.speaking = None;
        } else if let Some(result) = line.strip_prefix("test ") {
            self.read_result(result);
        } else if let Some(name) = trimmed
            .strip_prefix("---- ")
            .and_then(|rest| rest.strip_suffix(" stdout ----"))
        {
            self.speaking = Some(name.to_owned());
        } else if trimmed == "successes:" || trimmed == "failures:" {
            self.speaking = None;
        } else {
            self.read_words(line);
        }
    }

    fn read_result(&mut self, result: &str) {
        let Some((name, outcome)) = result.rsplit_once(" ... ") else {
            return;
        };
        let shown = self.shown(name);
        match outcome {
            "ok" => self.passed += 1,
            "FAILED" => {
                let alone = format!("cargo test {} -- --exact --nocapture {name}", self.binary);
                self.failed.push(Failed {
                    name: shown,
                    alone,
                    words: String::new(),
                    is_test: true,
                });
            }
            ignored if ignored.starts_with("ignored") => self.skipped.push(shown),
            _ => {}
        }
    }

    /// What a test printed: a reason to skip, or the words of a failure.
    fn read_words(&mut self, line: &str) {
        let Some(name) = self.speaking.clone() else {
            return;
        };
        let shown = self.shown(&name);
        if let Some(failed) = self.failed.iter_mut().find(|failed| failed.name == shown) {
            failed.words.push_str(line);
            failed.words.push('\n');
        } else if line.trim().starts_with(SKIPPED) && !self.is_skipped(&shown) {
            self.skipped.push(format!("{shown} ({})", line.trim()));
            self.passed -= 1;
        }
    }

    fn is_skipped(&self, shown: &str) -> bool {
        self.skipped
            .iter()
            .any(|name| name.starts_with(&format!("{shown} (")))
    }

    fn shown(&self, name: &str) -> String {
        format!("{}: {name}", self.binary)
    }

    /// "unittests src/lib.rs (target/debug/deps/xtask-c790804a)" becomes "-p xtask --lib".
    fn arguments_of(&self, running: &str) -> String {
        let file = running
            .trim_end_matches(')')
            .rsplit(['/', '\\'])
            .next()
            .unwrap_or_default();
        let name = file.rsplit_once('-').map_or(file, |(name, _)| name);
        match running.split(' ').next() {
            Some("unittests") if running.contains("main.rs") => {
                format!("-p {} --bins", self.package_of(name, "bin"))
            }
            Some("unittests") => format!("-p {} --lib", self.package_of(name, "lib")),
            _ => {
                let target = self
                    .targets
                    .iter()
                    .find(|target| target.kind != "lib" && plain(&target.name) == plain(name));
                match target {
                    Some(Target {
                        package,
                        name,
                        kind,
                    }) => format!("-p {package} --{kind} {name}"),
                    None => format!("--test {name}"),
                }
            }
        }
    }

    fn package_of(&self, name: &str, kind: &str) -> String {
        let libraries = ["lib", "cdylib", "rlib"];
        let fits = |target: &&Target| {
            plain(&target.name) == plain(name)
                && (target.kind == kind
                    || kind == "lib" && libraries.contains(&target.kind.as_str()))
        };
        self.targets
            .iter()
            .find(fits)
            .map_or_else(|| name.to_owned(), |target| target.package.clone())
    }
}

fn plain(name: &str) -> String {
    name.replace('-', "_")
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAID: &str = "\
   Compiling xtask v0.1.0
     Running unittests src/lib.rs (target/debug/deps/plumbline_dsp-0f3a)
test ramp::tests::holds ... ok
test units::tests::there ... FAILED
test result: FAILED. 1 passed; 1 failed
failures:

---- units::tests::there stdout ----
panicked at 1 != 2

failures:
    units::tests::there

     Running tests/hosted/main.rs (/home/me/target/debug/deps/hosted-9c2b)
test strokes::tight_sets ... ok
test slow ... ignored

successes:

---- strokes::tight_sets stdout ----
skipped: no recordings

successes:
    strokes::tight_sets
";

    fn target(package: &str, name: &str, kind: &str) -> Target {
        Target {
            package: package.to_owned(),
            name: name.to_owned(),
            kind: kind.to_owned(),
        }
    }

    fn report() -> Report {
        let targets = vec![
            target("plumbline-dsp", "plumbline_dsp", "lib"),
            target("plumbline-hosting", "hosted", "test"),
        ];
        let mut report = Report::new(targets);
        SAID.lines().for_each(|line| report.read(line));
        report
    }

    #[test]
    fn counts_what_passed_failed_and_was_skipped() {
        let report = report();
        assert_eq!(
            (report.passed, report.failed.len(), report.skipped.len()),
            (1, 1, 2)
        );
        assert_eq!(
            report.skipped[1],
            "-p plumbline-hosting --test hosted: strokes::tight_sets (skipped: no recordings)"
        );
    }

    #[test]
    fn a_failure_says_how_to_run_it_alone() {
        let failed = &report().failed[0];
        assert_eq!(
            failed.alone,
            "cargo test -p plumbline-dsp --lib -- --exact --nocapture units::tests::there"
        );
        assert!(failed.words.contains("1 != 2"));
    }
}
