"""Runs the outside checks and says what was found; `--sabotage` shows that each of them can fail."""

import os

# Two cores are shared with whatever else runs; the sums are small.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import argparse
import sys
import time
import traceback
from dataclasses import replace
from pathlib import Path

import air
import ardour
import bound
import comb
import delay
import estimator
import evidence
import flutter
import formats
import host
import loudness
import meters
import print as tape_print
import print_plugin
import recordings
import rooms
import soak
import sweep
import trade
from ledger import Ledger

# What fails when a group falls over.
RUNS = "runs to its end"

GROUPS = {
    "formats": formats,
    "delay": delay,
    "comb": comb,
    "sweep": sweep,
    "flutter": flutter,
    "rooms": rooms,
    "recordings": recordings,
    "estimator": estimator,
    "bound": bound,
    "loudness": loudness,
    "meters": meters,
    "air": air,
    "print": tape_print,
    "print in the plugin": print_plugin,
    "trade": trade,
    "ardour": ardour,
    "soak": soak,
}


def main():
    options = read_options()
    bench = host.Bench(options.vst3, options.clap, options.clap_renderer, options.meters, options.xtask, options.recordings,
                       options.full)
    groups = {name: GROUPS[name] for name in options.only or GROUPS}
    if options.sabotage:
        return 1 if any(red == 0 for _, _, red, _ in sabotage(bench, groups)) else 0
    ledger = Ledger()
    for name, group in groups.items():
        run(name, group, bench, ledger)
    if options.evidence:
        disturbed = sabotage(bench, groups)
        titles = {name: group.__doc__.rstrip(".") for name, group in groups.items()}
        evidence.write(options.evidence, ledger, titles, disturbed)
    failed = len(ledger.failed())
    print(f"reference: {len(ledger.checks) - failed} passed, {failed} failed, {len(ledger.skipped)} skipped")
    return 1 if failed else 0


def read_options():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vst3", required=True, help="the bundle")
    parser.add_argument("--clap", required=True, help="the bundle")
    parser.add_argument("--clap-renderer", required=True, help="the program of tests/examples/render.rs")
    parser.add_argument("--meters", required=True, help="the program of tests/examples/meters.rs")
    parser.add_argument("--xtask", required=True, help="the program of cargo xtask")
    parser.add_argument("--recordings", type=Path, help="folder of real strokes")
    parser.add_argument("--full", action="store_true", help="more cases of everything")
    parser.add_argument("--evidence", type=Path, help="write the evidence page here")
    parser.add_argument("--sabotage", action="store_true", help="disturb the plugin's answers: every group must go red")
    parser.add_argument("--only", action="append", choices=list(GROUPS), help="one group; may be repeated")
    return parser.parse_args()


def run(name, group, bench, ledger):
    """One group. What goes wrong inside it is a failure of the group and stops no other."""
    begun = time.monotonic()
    ledger.group = name
    try:
        group.run(bench, ledger)
    except Exception:
        ledger.note_check(RUNS, "", "no exception", traceback.format_exc(limit=3).strip(), False)
    if not ledger.quiet:
        print(f"{name}: {time.monotonic() - begun:.0f} s", flush=True)


def sabotage(bench, groups):
    """Each disturbance must turn each group red that names it: group, disturbance, red checks, all checks."""
    rows = []
    for name, group in groups.items():
        for how in group.SABOTAGES:
            ledger = Ledger(quiet=True)
            run(name, group, replace(bench, sabotage=how, full=False), ledger)
            # Falling over is not noticing.
            red = sum(check.name != RUNS for check in ledger.failed())
            rows.append((name, how, red, len(ledger.checks)))
            print(f"{'ok    ' if red else 'BLIND '} {name}: {how}: {red} of {len(ledger.checks)} checks red", flush=True)
    return rows


if __name__ == "__main__":
    sys.exit(main())
