"""The project's own meters, loudness, correlation and mono-sum loss, against libraries, formulas and published signals."""

import json
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import pyloudnorm
from scipy.signal import lfilter

import host
from stimuli import band, decibels, strokes

RATE = 48_000
WINDOW_S = 0.6
EBU = "EBU Tech 3341, minimum requirements test {}; tolerance 0.1 LU"
LIBRARY = "BS.1770 by pyloudnorm"
FORMULA = "Σab / √(Σa² Σb²) (numpy)"
RUNNING = "the same on means of an exponential window of 0.6 s (scipy)"
LOSS = "power of the sum against (√P₁ + √P₂)² (numpy)"
BROADCAST = "common practice of broadcast meters, no standard"
SABOTAGES = [host.SIGN, host.LOUD]

# EBU Tech 3341: level of a 1 kHz sine in both channels, dBFS, and seconds; what integrated loudness must read, LUFS.
SEQUENCES = {
    "1": ([(-23.0, 20.0)], -23.0),
    "2": ([(-33.0, 20.0)], -33.0),
    "3": ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
    "4": ([(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)], -23.0),
    "5": ([(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),
}


def run(bench, ledger):
    check_sequences(bench, ledger)
    check_programme(bench, ledger)
    check_correlation(bench, ledger)


def read(bench, first, second, rate=RATE):
    """What our meters say of a pair; a faulty one is heard through the disturbance."""
    audio = np.stack([first, second]).astype(float)
    audio = host.disturbed(bench, host.Rendered(audio.copy(), 0, {}, "")).audio if bench.sabotage else audio
    with tempfile.TemporaryDirectory() as folder:
        source, job = Path(folder, "in"), Path(folder, "job")
        audio.astype("<f4").tofile(source)
        job.write_text(json.dumps({"input": str(source), "sample_rate": rate, "window_s": WINDOW_S}))
        answer = subprocess.run([bench.meters, str(job)], capture_output=True, text=True, check=True)
    return json.loads(answer.stdout)


def sequence(levels, rate):
    count = [int(seconds * rate) for _, seconds in levels]
    gain = np.repeat([10 ** (level / 20) for level, _ in levels], count)
    return gain * np.sin(2 * np.pi * 1000 * np.arange(sum(count)) / rate)


def check_sequences(bench, ledger):
    """What the meter must read, at our rates, and what the library reads on the plugin's output of the same."""
    library = pyloudnorm.Meter(RATE)
    for name, (levels, expected) in SEQUENCES.items():
        for rate in (RATE, 44_100, 96_000) if bench.full else (RATE,):
            tone = sequence(levels, rate)
            measured = read(bench, tone, tone, rate)["loudness_lkfs"]
            ledger.near(f"sequence {name}, our meter, {rate / 1000:g} kHz", EBU.format(name), measured, expected, 0.1, "LUFS")
        tone = sequence(levels, RATE)
        if bench.full or name in "12":
            passed = host.render_vst3(bench, np.stack([tone, tone, 0 * tone, 0 * tone]), RATE)
            loudness = library.integrated_loudness(passed.audio.T)
            ledger.near(f"sequence {name} through the VST3", EBU.format(name) + "; read by pyloudnorm", loudness, expected, 0.1, "LUFS")


def check_programme(bench, ledger):
    """Strokes of a drum with gaps between them, where the gates decide."""
    random = np.random.default_rng(31)
    first = strokes(RATE, 12.0, [0.3, 1.1, 1.9, 5.0, 5.4, 9.7], random)
    second = 0.5 * first + 0.01 * random.standard_normal(len(first))
    expected = pyloudnorm.Meter(RATE).integrated_loudness(np.stack([first, second], axis=1))
    ledger.near("drum strokes, our meter", LIBRARY, read(bench, first, second)["loudness_lkfs"], expected, 0.1, "LKFS")


def check_correlation(bench, ledger):
    random = np.random.default_rng(32)
    noise, other = 0.2 * random.standard_normal((2, 10 * RATE))
    place = 2 * np.pi * 1000 * np.arange(10 * RATE) / RATE
    pink = band(lfilter([1.0], [1.0, -0.95], noise), RATE, 30, 18_000)
    pairs = {
        "identical": (noise, noise, 1.0),
        "one inverted": (noise, -noise, -1.0),
        "independent noise": (noise, other, 0.0),
        "one silent": (noise, 0 * noise, 0.0),
        "a quarter turn of 1 kHz": (0.5 * np.sin(place), 0.5 * np.cos(place), 0.0),
        "half alike": (noise + other, noise, None),
        "7 samples apart": (pink, np.roll(pink, 7), None),
        "a third, inverted": (pink, other - pink / 3, None),
    }
    for name, (first, second, published) in pairs.items():
        measured = read(bench, first, second)
        first, second = (channel.astype(np.float32).astype(float) for channel in (first, second))
        powers = np.array([np.sum(first**2), np.sum(second**2), np.sum(first * second)])
        ledger.near(f"correlation, {name}", FORMULA, measured["correlation"], ratio(powers), 1e-6)
        weight = 1 - np.exp(-1 / (WINDOW_S * RATE))
        means = [lfilter([weight], [1, weight - 1], product)[-1] for product in (first**2, second**2, first * second)]
        ledger.near(f"running meter, {name}", RUNNING, measured["meter"], ratio(means), 1e-6)
        if published is not None:
            ledger.near(f"meter, {name}", BROADCAST, measured["meter"], published, 0.05)
        loss = decibels(np.sqrt(max(np.sum((first + second) ** 2), 1e-30)
                                / (np.sqrt(powers[0]) + np.sqrt(powers[1])) ** 2)) if powers.any() else 0.0
        ledger.near(f"mono-sum loss, {name}", LOSS, measured["mono_sum_loss_db"], max(loss, -120.0), 0.001, "dB")


def ratio(powers):
    both = np.sqrt(powers[0] * powers[1])
    return powers[2] / both if both > 0 else 0.0
