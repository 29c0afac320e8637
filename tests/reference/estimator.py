"""The estimator's whole tables: takes that no estimator was built, fitted or looked at with, beside the two ordinary ways"""

import csv
from pathlib import Path

FIGURES = Path(__file__).parents[2] / "target" / "measured"
RUN = "cargo test -p plumbline-dsp --test measured -- --include-ignored"
WANTED = "this project's own limits, for takes with seeds kept aside"
TRUTH = {
    "no_snare_microphone": "consensus of twelve first-arrival pickers on the strokes alone",
    "simulated_kit": "geometry of the simulated room",
}
WAYS = {"_correlation": "cross-correlation", "_phase_transform": "GCC-PHAT (Knapp & Carter 1976)"}
COLUMNS = ("answers", "right", "within_1cm", "median", "gross", "highest_confidence", "covered", "covered_twice", "polarity")
WORDS = ("answers", "right", "under 1 cm", "median error, samples", "gross", "claimed by a gross one", "inside the spread", "inside two", "polarity right")
# The tests judge the same tables; here their figures are taken over. What would disturb them is another estimator.
SABOTAGES = ()


def run(_bench, ledger):
    grooves(ledger)
    rooms(ledger)
    kick(ledger)
    for name, words in (("calibration", "sessions of eight bars"), ("calibration_short", "sessions of two bars")):
        calibration(ledger, name, words)


def read(name):
    """The rows of a table as dictionaries, none when it was not written."""
    path = FIGURES / f"{name}.csv"
    if not path.exists():
        return []
    with path.open() as file:
        return list(csv.DictReader(file))


def table(ledger, name, what):
    """The rows of a table; says so when the whole run was not made."""
    rows = read(name)
    if not rows:
        ledger.skip(what, f"{RUN} has not been run")
    return rows


def total(rows, column):
    return sum(int(row[column]) for row in rows)


def surest(rows):
    return max(float(row["highest_confidence"]) for row in rows)


def beside(name, key, rows):
    """What the ordinary ways have right in the same takes, by the cell's key; they ask no spot."""
    def cell(row):
        return tuple(row[k] for k in key)

    found = {ending: {cell(row): row["right"] for row in read(name + ending)} for ending in WAYS}
    return {ending: [cells.get(cell(row), "") for row in rows] for ending, cells in found.items() if cells}


def note(ledger, name, key, rows, wanted):
    others = beside(name, key, rows)
    head = [*key, *WORDS, *(WAYS[ending] for ending in others), "wanted"]
    lines = ["| " + " | ".join(head).replace("_", " ") + " |", "|" + "---|" * len(head)]
    for number, row in enumerate(rows):
        cells = [row[k] for k in key] + [row[column] for column in COLUMNS]
        cells += [others[ending][number] for ending in others] + [f"{wanted(row)} of {row['takes']}"]
        lines.append("| " + " | ".join(cells) + " |")
    ledger.note("\n".join(lines))


def judged(ledger, what, name, rows, wanted):
    """One check over all cells, then what no cell may show."""
    short = [row for row in rows if int(row["right"]) < wanted(row)]
    takes = total(rows, "takes")
    ledger.equal(f"{what}: cells that reach what is wanted", TRUTH[name], f"{len(rows) - len(short)} of {len(rows)}", f"{len(rows)} of {len(rows)}")
    ledger.at_least(f"{what}: right, of {takes}", TRUTH[name], total(rows, "right"), sum(wanted(row) for row in rows))
    ledger.equal(f"{what}: polarity right", TRUTH[name], f"{total(rows, 'polarity')} of {takes}", f"{takes} of {takes}")
    ledger.at_most(f"{what}: claimed by a gross error ({total(rows, 'gross')} of {takes})", WANTED, surest(rows), 0.5)
    ledger.equal(f"{what}: gaps of over 3 m of air", WANTED, total(rows, "absurd"), 0)


def part(row, most):
    """The fewest takes that are that part of a cell."""
    return -(-int(row["takes"]) * most // 100)


def grooves(ledger):
    what = "real grooves"
    rows = table(ledger, "no_snare_microphone", what)
    if rows:
        key = ("pair", "style", "cymbals_db", "spot")

        def wanted(row):
            return part(row, 90 if float(row["cymbals_db"]) > 6 else 95)

        note(ledger, "no_snare_microphone", key, rows, wanted)
        judged(ledger, what, "no_snare_microphone", rows, wanted)


def rooms(ledger):
    what = "simulated rooms"
    rows = table(ledger, "simulated_kit", what)
    if rows:
        def wanted(row):
            return part(row, 95)

        note(ledger, "simulated_kit", ("cymbals", "cymbals_db", "spot"), rows, wanted)
        for decibels in sorted({row["cymbals_db"] for row in rows}, key=float):
            mine = [row for row in rows if row["cymbals_db"] == decibels]
            judged(ledger, f"{what}, cymbals {decibels} dB over the snare's attack", "simulated_kit", mine, wanted)


def kick(ledger):
    what = "kick under closed hats, kick's microphone"
    for row in table(ledger, "kick_under_hats", what):
        ledger.at_least(f"{what}: within 5 samples of -32.6, of {row['takes']}", TRUTH["no_snare_microphone"], int(row["right"]), 95)


def calibration(ledger, name, what):
    rows = table(ledger, name, what)
    if not rows:
        return
    head = ("kind", "answers", "inside_50", "inside_68", "inside_90", "inside_95", "brier")
    lines = ["| " + what + " | answers | 50 % | 68 % | 90 % | 95 % | Brier score |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row[k] for k in head) + " |" for row in rows]
    ledger.note("\n".join(lines))
    if name != "calibration":
        return
    everything = next(row for row in rows if row["kind"] == "all")
    ledger.near(f"{what}: inside one spread", WANTED, float(everything["inside_68"]), 0.68, 0.05)
    ledger.near(f"{what}: inside two spreads", WANTED, float(everything["inside_95"]), 0.95, 0.02)
    bins = [row for row in table(ledger, f"{name}_reliability", what) if row["kind"] == "all"]
    filled = [row for row in bins if int(row["sessions"]) > 0]
    lines = ["| claimed, mean of a tenth | came true | sessions |", "|---|---|---|"]
    lines += [f"| {row['claimed']} | {row['came_true']} | {row['sessions']} |" for row in filled]
    ledger.note("\n".join(lines))
    for row in filled:
        claimed, came_true, sessions = float(row["claimed"]), float(row["came_true"]), int(row["sessions"])
        # Two standard errors: what chance alone does to so few.
        chance = 2 * (claimed * (1 - claimed) / sessions) ** 0.5
        ledger.near(f"{what}: came true where {claimed:.2f} is claimed, {sessions} sessions", WANTED, came_true, claimed, round(0.1 + chance, 3))
