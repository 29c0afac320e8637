"""What was checked: expected, measured, source and verdict, as a table for the terminal and for the evidence page."""

from dataclasses import dataclass, field


@dataclass
class Check:
    group: str
    name: str
    source: str
    expected: str
    measured: str
    passed: bool


@dataclass
class Ledger:
    checks: list = field(default_factory=list)
    # Texts and tables that belong to a group's page, without a verdict of their own.
    notes: list = field(default_factory=list)
    skipped: list = field(default_factory=list)
    quiet: bool = False
    group: str = ""

    def within(self, name, source, measured, low, high, unit=""):
        """A number between two limits, both included. Not a number fails."""
        expected = f"{low:g} .. {high:g} {unit}".strip()
        self.note_check(name, source, expected, f"{measured:.6g} {unit}".strip(), low <= measured <= high)

    def near(self, name, source, measured, expected, tolerance, unit=""):
        """A number at most `tolerance` from the expected one. Not a number fails."""
        text = f"{expected:.6g} ± {tolerance:g} {unit}".strip()
        self.note_check(name, source, text, f"{measured:.6g} {unit}".strip(), abs(measured - expected) <= tolerance)

    def at_most(self, name, source, measured, limit, unit=""):
        """A number up to a limit, the limit included. Not a number fails."""
        self.note_check(name, source, f"≤ {limit:g} {unit}".strip(), f"{measured:.4g} {unit}".strip(), measured <= limit)

    def at_least(self, name, source, measured, limit, unit=""):
        """A number from a limit on, the limit included. Not a number fails."""
        self.note_check(name, source, f"≥ {limit:g} {unit}".strip(), f"{measured:.4g} {unit}".strip(), measured >= limit)

    def equal(self, name, source, measured, expected):
        """Two things that print alike when they are alike."""
        self.note_check(name, source, str(expected), str(measured), measured == expected)

    def note_check(self, name, source, expected, measured, passed):
        check = Check(self.group, name, source, expected, measured, bool(passed))
        self.checks.append(check)
        if not self.quiet:
            mark = "ok    " if check.passed else "FAILED"
            print(f"{mark} {self.group}: {name}: expected {expected}, measured {measured}", flush=True)

    def note(self, text):
        self.notes.append((self.group, text))
        if not self.quiet:
            print(text, flush=True)

    def skip(self, name, reason):
        self.skipped.append((self.group, name, reason))
        if not self.quiet:
            print(f"skipped: {self.group}: {name}: {reason}", flush=True)

    def failed(self):
        return [check for check in self.checks if not check.passed]
