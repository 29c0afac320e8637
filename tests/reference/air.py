"""Speed of sound, and what the command makes of it: distances against published formulas."""

import tempfile
from pathlib import Path

import numpy as np
from scipy.io import wavfile

import host
from formats import session

RATE = 48_000
DRY = "c = 331.3 √(1 + T/273.15), dry air (from memory of the usual textbook form)"
ISO = "ISO 9613-1:1993, c = 343.2 √((T + 273.15)/293.15)"
CRAMER = "Cramer, J. Acoust. Soc. Am. 93(5), 1993, p. 2514; coefficients after a metrology institute's calculator"
SABOTAGES = [host.SIGN, host.LATE]

QUICK = [20.0]
FULL = [0.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0]


def run(bench, ledger):
    check_formulas(ledger)
    with tempfile.TemporaryDirectory() as folder:
        take = session().astype(np.float32)
        pair, spot = Path(folder, "pair.wav"), Path(folder, "snare.wav")
        wavfile.write(pair, RATE, take[:2].T)
        wavfile.write(spot, RATE, take[2])
        for celsius in FULL if bench.full else QUICK:
            check_distance(bench, ledger, pair, spot, celsius)


def check_formulas(ledger):
    """The forms against each other: where they disagree, by less than a millimetre in a metre, no one can hear it."""
    for celsius in (0.0, 10.0, 20.0, 30.0):
        ledger.near(f"dry air at {celsius:g} °C, textbook form", ISO, dry(celsius), iso(celsius), 0.02, "m/s")
        ledger.near(f"dry air at {celsius:g} °C, textbook form", CRAMER, dry(celsius), cramer(celsius, 0), 0.2, "m/s")
    ledger.near("humidity, 0 to 50 % at 20 °C: change", CRAMER, 100 * (cramer(20, 50) / cramer(20, 0) - 1), 0.183, 0.005, "%")


def check_distance(bench, ledger, pair, spot, celsius):
    answer = host.align(bench, pair, "--spot", spot, "--temperature", celsius)
    speed = answer["gap_cm"] / 100 / answer["gap_seconds"]
    ledger.near(f"distance at {celsius:g} °C: speed that the command uses", DRY, speed, dry(celsius), 0.01, "m/s")
    ledger.near(f"distance at {celsius:g} °C: against the standard", ISO, speed, iso(celsius), 0.05, "m/s")
    ledger.near(f"inches at {celsius:g} °C", "an inch is 2.54 cm", answer["gap_inches"] * 2.54, answer["gap_cm"], 1e-9, "cm")


def dry(celsius):
    return 331.3 * np.sqrt(1 + celsius / 273.15)


def iso(celsius):
    return 343.2 * np.sqrt((celsius + 273.15) / 293.15)


def cramer(celsius, humidity, pascal=101_325.0):
    kelvin, carbon = celsius + 273.15, 400e-6
    enhancement = 1.00062 + 3.14e-8 * pascal + 5.6e-7 * celsius**2
    # Davis 1992.
    vapour = np.exp(1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin)
    water = humidity / 100 * enhancement * vapour / pascal
    return (331.5024 + 0.603055 * celsius - 0.000528 * celsius**2
            + (51.471935 + 0.1495874 * celsius - 0.000782 * celsius**2) * water
            + (-1.82e-7 + 3.73e-8 * celsius - 2.93e-10 * celsius**2) * pascal
            + (-85.20931 - 0.228525 * celsius + 5.91e-5 * celsius**2) * carbon
            - 2.835149 * water**2 - 2.15e-13 * pascal**2 + 29.179762 * carbon**2 + 0.000486 * water * pascal * carbon)
