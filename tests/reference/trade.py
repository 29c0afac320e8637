"""What engineers say at the console, checked on the hosted plugin."""

import numpy as np

import host
from formats import kept
from stimuli import band, decibels, delayed, strokes

RATE = 48_000
TRADE = "common practice, no source"
SPEED = 331.3 * np.sqrt(1 + 20 / 273.15)
SABOTAGES = [host.SIGN, host.LATE, host.NAIVE]


def run(bench, ledger):
    check_rules_of_thumb(bench, ledger)
    check_equal_distances(bench, ledger)
    check_unequal_distances(bench, ledger)


def take(gap, random):
    spot = strokes(RATE, 3.4, [0.3, 0.8, 1.3, 1.8, 2.3, 2.8], random)
    floor = 1e-5 * random.standard_normal((4, len(spot)))
    return np.stack([0.5 * delayed(spot, 140.0), 0.5 * delayed(spot, 140.0 + gap), spot, spot]) + floor


def measured(bench, gap):
    return host.render_vst3(bench, take(gap, np.random.default_rng(3)), RATE, {"Measure": "On"})


def check_rules_of_thumb(bench, ledger):
    """A foot and an inch of difference, as delays that the plugin must read back in the rule's own unit."""
    foot = measured(bench, 0.3048 / SPEED * RATE).lag("gap")["attack_s"]
    ledger.near("a foot is about a millisecond", TRADE, 1e3 * foot, 1.0, 0.13, "ms")
    inch = measured(bench, 0.0254 / SPEED * RATE).lag("gap")["attack_s"]
    ledger.near("an inch is 74 µs", TRADE, 1e6 * inch, 74.0, 0.5, "µs")
    ledger.near("an inch: first null near 6.8 kHz", TRADE, 1 / (2 * inch) / 1e3, 6.76, 0.05, "kHz")


def check_equal_distances(bench, ledger):
    """Equal: nothing to do; the snare is whole in mono."""
    result = measured(bench, 0.0)
    ledger.near("equal distances: no gap", TRADE, result.lag("gap")["attack_s"] * RATE, 0.0, 0.02, "samples")
    ledger.near("equal distances: mono sum is whole", TRADE, mono_gain_db(*result.audio), 6.02, 0.05, "dB")


def check_unequal_distances(bench, ledger):
    """10 cm: thin in mono as recorded, whole after the correction, and between both with half the amount."""
    gap = 0.10 / SPEED * RATE
    channels = take(gap, np.random.default_rng(3))
    state = measured(bench, gap).state_text
    sums = {}
    for amount in (0.0, 50.0, 100.0):
        result = host.render_vst3(bench, channels, RATE, state=kept(state, {"amount": {"f32": amount}}))
        sums[amount] = mono_gain_db(*result.audio)
    ledger.at_most("10 cm apart: mono sum around 1.7 kHz as recorded", TRADE, sums[0.0], 0.0, "dB")
    ledger.near("10 cm apart: the same after the correction", TRADE, sums[100.0], 6.02, 0.05, "dB")
    ledger.within("half the amount lies between", TRADE, sums[50.0], sums[0.0], sums[100.0], "dB")
    off = host.render_vst3(bench, channels, RATE, state=kept(state, {"correct": {"bool": False}}))
    late = off.latency
    ledger.at_most("Correct off leaves the take as recorded", "the manual's promise",
                   decibels(np.max(np.abs(off.audio[:, late:] - channels[:2, :-late].astype(np.float32)))), -140, "dB")


def mono_gain_db(first, second):
    """Power of the sum against the mean of both around the first null of 10 cm; 6.02 dB when they are one."""
    settled = slice(RATE, -RATE // 4)
    first, second = (band(channel[settled], RATE, 1200, 2400) for channel in (first, second))
    return 10 * np.log10(np.mean((first + second) ** 2) / np.mean((first**2 + second**2) / 2))
