"""The tape stage against numpy and scipy: response in closed form, Langevin's harmonics, aliases, noise, filter tables."""

import json
import re
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from scipy.integrate import quad
from scipy.signal import freqz, remez, welch

import host

RATE = 48_000
CLOSED = "losses by Wallace's closed forms, equalisation by IEC 60094-1 clause 15 with the constants of IASA TC-04 5.4.10 (numpy)"
CURVES = "IEC 60094-1 and NAB time constants, IASA TC-04 5.4.10: the equalisers of recording and playback cancel"
LANGEVIN = "harmonics of L(x) = coth x - 1/x by quadrature (scipy), through the closed forms"
MEDIUM = "data sheets of mastering tape: 3 % third harmonic at 9 to 12 dB over 320 nWb/m"
ALIAS = "lines that are no harmonics (numpy)"
HISS = "power of the noise from 20 Hz to 20 kHz (scipy's Welch)"
EXCHANGE = "Parks and McClellan's exchange (scipy)"
PRE_EMPHASIS, OVERSAMPLING = "without pre-emphasis", "without oversampling"
SABOTAGES = [host.SIGN, PRE_EMPHASIS, OVERSAMPLING]

# Centimetres a second by name, and microseconds of t1 and t2.
SPEEDS = {19: 0.1905, 38: 0.381, 76: 0.762}
CONSTANTS = {(19, "IEC"): (70.0, None), (38, "IEC"): (35.0, None), (76, "IEC"): (17.5, None),
             (19, "NAB"): (50.0, 3180.0), (38, "NAB"): (50.0, 3180.0), (76, "NAB"): (17.5, None)}
# Peak of the sine at the reference, and where the tape is full, in such peaks.
REFERENCE, SATURATION = 10 ** (-18 / 20), 2.557
# Micrometres: coating, spacing, gap as built and as it acts, erasure by the bias.
COATING, SPACING, GAP, ERASURE = 15.0, 0.5, 3.0 * 1.11, 2.1
# What each table of half_band.rs must pass, as a part of its rate, and how far below the rest must lie, dB.
HALF_BANDS = {"LONG": (0.4535, 100), "MIDDLE": (20 / 48, 102), "SHORT": (20.5 / 88.2, 107),
              "SHORTER": (20.5 / 176.4, 92), "SHORTEST": (20.5 / 352.8, 85)}


def run(bench, ledger):
    for speed in SPEEDS:
        for equalisation in ("IEC", "NAB"):
            check_response(bench, ledger, speed, equalisation)
    check_harmonics(bench, ledger)
    check_early_treble(bench, ledger)
    check_alias(bench, ledger)
    check_noise(bench, ledger)
    check_half_bands(ledger)


def printed(bench, audio, rate=RATE, speed=38, equalisation="IEC", level=0.0, hiss=None, song=0.0, block=64):
    """The tape stage's answer, what it is late by taken out."""
    without = {PRE_EMPHASIS: "pre-emphasis", OVERSAMPLING: "oversampling"}.get(bench.sabotage)
    # Built beside the program of the meters.
    program = Path(bench.meters).with_name("print")
    with tempfile.TemporaryDirectory() as folder:
        source, target, job = (Path(folder, name) for name in ("in", "out", "job"))
        np.concatenate([audio, np.zeros(2048)]).astype("<f4").tofile(source)
        job.write_text(json.dumps({
            "sample_rate": rate, "input": str(source), "output": str(target), "block": block, "song_s": song,
            "level_db": level, "speed": speed, "equalisation": equalisation, "hiss_db": hiss, "without": without}))
        answer = subprocess.run([program, str(job)], capture_output=True, text=True, check=True)
        out = np.fromfile(target, dtype="<f4").astype(float)
    late = json.loads(answer.stdout)["latency"]
    out = out[late : late + len(audio)]
    return -out if bench.sabotage == host.SIGN else out


def treble(hertz, speed, equalisation):
    """What the losses leave and the playback equaliser makes of it; level above 22 kHz."""
    hertz = np.minimum(hertz, 22_000.0)
    wavelength = SPEEDS[speed] / hertz * 1e6
    depth = 2 * np.pi * COATING / wavelength
    losses = (-np.expm1(-depth) / depth) * np.exp(-2 * np.pi * (SPACING + ERASURE) / wavelength) * np.abs(np.sinc(GAP / wavelength))
    return losses * np.hypot(1, 2 * np.pi * hertz * CONSTANTS[speed, equalisation][0] * 1e-6)


def contour(hertz, speed):
    """The playback head at long waves: a bump of 1.5 dB, and a roll-off of second order."""
    bump = 60 * SPEEDS[speed] / 0.381
    s, side = 1j * hertz / bump, 10 ** (1.5 / 40)
    bell = (s**2 + side * s + 1) / (s**2 + s / side + 1)
    s = 1j * hertz / (0.4 * bump)
    return bell * s**2 / (s**2 + np.sqrt(2) * s + 1)


def response(hertz, speed, equalisation):
    """From input to output at low level: the contour, the coupling at 5 Hz, and where NAB's rise ends, at 2.5 Hz."""
    whole = contour(hertz, speed) * (1j * hertz) / (1j * hertz + 5.0)
    return whole * (1j * hertz) / (1j * hertz + 2.5) if CONSTANTS[speed, equalisation][1] else whole


def decibels(amplitude):
    return 20 * np.log10(np.maximum(np.abs(amplitude), 1e-30))


def check_response(bench, ledger, speed, equalisation):
    """A pulse 40 dB under the reference."""
    pulse = np.zeros(4 * RATE)
    pulse[RATE] = 0.01 * REFERENCE
    out = printed(bench, pulse, speed=speed, equalisation=equalisation)
    hertz = np.fft.rfftfreq(len(pulse), 1 / RATE)
    got = np.fft.rfft(out) / np.fft.rfft(pulse)
    inside = (hertz >= 20) & (hertz <= 15_000)
    want = response(hertz[inside], speed, equalisation)
    name = f"{speed} cm/s, {equalisation}"
    worst = np.max(np.abs(decibels(got[inside]) - decibels(want)))
    ledger.at_most(f"{name}: magnitude from the closed form, 20 Hz to 15 kHz", CLOSED, worst, 0.1, "dB")
    ledger.at_most(f"{name}: complex difference", CLOSED, decibels(np.max(np.abs(got[inside] - want))), -40, "dB")
    flat = (hertz >= 40) & (hertz <= 15_000)
    evened = decibels(got[flat] / contour(hertz[flat], speed))
    if speed == 38:
        ledger.at_most(f"{name}: 40 Hz to 15 kHz without the head's contour", CURVES, np.max(np.abs(evened)), 0.5, "dB")


def langevin(x):
    return x / 3 - x**3 / 45 if abs(x) < 1e-3 else 1 / np.tanh(x) - 1 / x


def harmonic(argument, number):
    """Amplitude of a harmonic of L(argument cos)."""
    return 2 / np.pi * quad(lambda angle: langevin(argument * np.cos(angle)) * np.cos(number * angle), 0, np.pi, epsabs=1e-12)[0]


def settled(audio, rate=RATE):
    """One second, half a second before the end."""
    return audio[-3 * rate // 2 : -rate // 2]


def line(audio, hertz, rate=RATE):
    """Amplitude of the line at a whole number of hertz in the settled second."""
    return 2 * np.abs(np.mean(settled(audio, rate) * np.exp(-2j * np.pi * hertz * np.arange(rate) / rate)))


def tone(hertz, level, rate=RATE):
    return 10 ** (level / 20) * REFERENCE * np.sin(2 * np.pi * hertz * np.arange(5 * rate // 2) / rate)


def check_harmonics(bench, ledger):
    at_tape = 1 / treble(1000.0, 38, "IEC")
    played = treble(3000.0, 38, "IEC") / treble(1000.0, 38, "IEC")
    levels = np.arange(-20.0, 13.0, 4.0)
    thirds = []
    for level in levels:
        out = printed(bench, tone(1000, level))
        thirds.append((decibels(line(out, 1000) / REFERENCE), line(out, 3000) / line(out, 1000)))
        argument = 10 ** (level / 20) * at_tape / SATURATION
        want = abs(harmonic(argument, 3)) / harmonic(argument, 1) * played
        ledger.near(f"third harmonic at {level:+g} dB", LANGEVIN, decibels(thirds[-1][1]), decibels(want), 0.1, "dB")
    output, third = np.array(thirds).T
    reached = np.interp(np.log(0.03), np.log(third), output)
    ledger.within("level of 3 % over 320 nWb/m", MEDIUM, reached, 9, 12, "dB")
    out = printed(bench, tone(1000, 6.0))
    ledger.at_most("second harmonic against the third at +6 dB", LANGEVIN, decibels(line(out, 2000) / line(out, 3000)), -40, "dB")
    # The print does not turn the wave round.
    ledger.at_least("likeness of print and tone", LANGEVIN, np.corrcoef(settled(out), settled(tone(1000, 6.0)))[0, 1], 0.9)


def check_early_treble(bench, ledger):
    """How much more a loud 10 kHz tone loses than a loud 1 kHz tone, by speed."""
    lost = lambda hertz, speed: 10 - decibels(line(printed(bench, tone(hertz, 10.0), speed=speed), hertz) / REFERENCE)
    more = {speed: lost(10_000, speed) - lost(1000, speed) for speed in SPEEDS}
    ledger.note("10 kHz at +10 dB loses more than 1 kHz: " + ", ".join(f"{speed} cm/s {db:.2f} dB" for speed, db in more.items()))
    ledger.at_least("treble saturates earlier at 19 than at 38 cm/s", LANGEVIN, more[19] - more[38], 0.5, "dB")
    ledger.at_least("treble saturates earlier at 38 than at 76 cm/s", LANGEVIN, more[38] - more[76], 0.1, "dB")


def check_alias(bench, ledger):
    rate = 44_100
    for hertz in (5000, 15_000):
        out = settled(printed(bench, tone(hertz, 12.0, rate), rate), rate)
        spectrum = np.abs(np.fft.rfft(out)) * 2 / rate
        strange = np.arange(len(spectrum)) % hertz != 0
        left = decibels(np.sqrt(np.sum(spectrum[strange] ** 2)) / spectrum[hertz])
        ledger.at_most(f"aliases of {hertz / 1000:g} kHz at +12 dB, 44.1 kHz", ALIAS, left, -90, "dB")


def check_noise(bench, ledger):
    silence = np.zeros(8 * RATE)
    ledger.equal("silent tape is silent", HISS, np.count_nonzero(printed(bench, silence)), 0)
    out = printed(bench, silence, hiss=-60.0, song=7.0)
    hertz, power = welch(out, RATE, nperseg=4096)
    inside = (hertz >= 20) & (hertz <= 20_000)
    level = 10 * np.log10(np.sum(power[inside]) * hertz[1]) - decibels(REFERENCE) + 3.01
    ledger.near("hiss at -60 dB", HISS, level, -60.0, 0.3, "dB")
    again = printed(bench, silence[: 4 * RATE], hiss=-60.0, song=9.0, block=37)
    ledger.equal("the same place of the song has the same hiss", HISS, np.array_equal(out[2 * RATE :][: 4 * RATE], again), True)


def check_half_bands(ledger):
    """The tables that the oversampler is built of, designed again."""
    text = Path(__file__).parents[2].joinpath("plugin/dsp/src/print/half_band.rs").read_text()
    for name, (edge, below) in HALF_BANDS.items():
        listed = re.search(rf"const {name}: \[f32; \d+\] = \[(.*?)\];", text, re.S)[1]
        half = np.array([float(number.replace("_", "")) for number in listed.split(",") if number.strip()])
        taps = np.concatenate([half, half[::-1]])
        _, passed = freqz(taps, worN=np.linspace(0, 2 * np.pi * edge, 4000))
        error = decibels(np.max(np.abs(np.abs(passed) - 1)) / 2)
        ledger.at_most(f"half-band {name}: stop band", EXCHANGE, error, -below, "dB")
        designed = remez(len(taps), [0, edge], [1], fs=1.0, maxiter=400, grid_density=32)
        ledger.at_most(f"half-band {name}: distance of the taps", EXCHANGE, np.max(np.abs(designed / designed.sum() - taps)), 1e-6)
