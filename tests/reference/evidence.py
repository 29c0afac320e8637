"""The evidence page: every check with source, expected, measured and verdict, as the run found them."""

import platform
from importlib.metadata import version

LIBRARIES = ("dawdreamer", "pedalboard", "numpy", "scipy", "pyroomacoustics", "pyloudnorm")


def write(path, ledger, titles, disturbed):
    path.write_text(page(ledger, titles, disturbed))


def page(ledger, titles, disturbed):
    failed = len(ledger.failed())
    lines = [
        "# Evidence",
        "",
        "The built plugin against libraries, formulas and recordings that are not ours. This page is written by",
        "`cargo xtask test --full --evidence`; every number on it was printed by that run.",
        "",
        f"{len(ledger.checks) - failed} checks passed, {failed} failed, {len(ledger.skipped)} skipped. "
        f"Python {platform.python_version()}, " + ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
        + f", {platform.system()} {platform.machine()}.",
    ]
    for group, title in titles.items():
        lines += ["", f"## {title[:1].upper()}{title[1:]}", ""]
        for name, text in ledger.notes:
            if name == group:
                lines += [text, ""]
        checks = [check for check in ledger.checks if check.group == group]
        if checks:
            lines += ["| check | source | expected | measured | verdict |", "|---|---|---|---|---|"]
            lines += [row(check) for check in checks]
        for name, what, why in ledger.skipped:
            if name == group:
                lines.append(f"Skipped: {what}: {why}.")
    lines += ["", "## Can the checks fail?", "",
              "Each group ran once more on a plugin whose answers were disturbed on their way out.", "",
              "| group | disturbance | checks that turned red |", "|---|---|---|"]
    lines += [f"| {group} | {how} | {red} of {count} |" for group, how, red, count in disturbed]
    return "\n".join(lines) + "\n"


def row(check):
    cells = (check.name, check.source or "the plugin's own promise", check.expected, check.measured, "passed" if check.passed else "**failed**")
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"
