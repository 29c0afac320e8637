"""A session that is left running: what the hosted soak found, with the sound's pace and with none."""

import csv
from pathlib import Path

FIGURES = Path(__file__).parents[2] / "target" / "measured"
SOURCE = "this project's own limits (tests/hosted/soak.rs)"
PACES = {"none": "as fast as the machine can", "real-time": "as fast as it sounds"}
# The soak is judged by the hosted test; here its figures are taken over. What would disturb it is a leak.
SABOTAGES = ()


def run(_bench, ledger):
    for pace, words in PACES.items():
        path = FIGURES / f"soak-{pace}.csv"
        if not path.exists():
            ledger.skip(f"soak, {words}", f"cargo xtask soak --pace {pace} has not been run")
            continue
        with path.open() as file:
            figures = {name: float(number) for name, number in csv.reader(file)}
        length = f"{figures['minutes of audio']:.0f} minutes of audio {words}"
        ledger.note(f"{length}, in {figures['minutes that it took']:.1f} minutes")
        ledger.at_most(f"{length}: memory added", SOURCE, figures["memory added, KiB"], 1024, "KiB")
        ledger.equal(f"{length}: open files added", SOURCE, figures["open files added"], 0.0)
        ledger.equal(f"{length}: threads added", SOURCE, figures["threads added"], 0.0)
        cost = figures["cost, second half against first"]
        if pace == "none":
            ledger.at_most(f"{length}: cost of the second half", SOURCE, cost, 1.5, "times the first")
        else:
            ledger.note(f"{length}: the second half costs {cost:.2f} times the first; blocks that come so seldom find cold caches: not judged")
        ledger.at_most(f"{length}: drift of the deck", SOURCE, figures["drift of the deck, full scale"], 1e-6, "of full scale")
