"""What engineers say at the console, checked on the hosted plugin."""

import numpy as np
from scipy.signal import welch

import host
from formats import kept
from sweep import decks, silence
from stimuli import band, decibels, delayed, strokes

RATE = 48_000
TRADE = "common practice, no source"
SPEED = 331.3 * np.sqrt(1 + 20 / 273.15)
SABOTAGES = [host.SIGN, host.LATE, host.NAIVE]


def run(bench, ledger):
    check_rules_of_thumb(bench, ledger)
    check_equal_distances(bench, ledger)
    check_unequal_distances(bench, ledger)
    check_decks(bench, ledger)


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
        result = host.render_vst3(bench, channels, RATE, state=kept(state, {"amount": amount}))
        sums[amount] = mono_gain_db(*result.audio)
    ledger.at_most("10 cm apart: mono sum around 1.7 kHz as recorded", TRADE, sums[0.0], 0.0, "dB")
    ledger.near("10 cm apart: the same after the correction", TRADE, sums[100.0], 6.02, 0.05, "dB")
    ledger.within("half the amount lies between", TRADE, sums[50.0], sums[0.0], sums[100.0], "dB")
    off = host.render_vst3(bench, channels, RATE, state=kept(state, {"correct": False}))
    late = off.latency
    ledger.at_most("Correct off leaves the take as recorded", "the manual's promise",
                   decibels(np.max(np.abs(off.audio[:, late:] - channels[:2, :-late].astype(np.float32)))), -140, "dB")


def check_decks(bench, ledger):
    """Together the decks are loud and have no comb; apart they are softer; on both sides the comb is the same."""
    plain = host.render_vst3(bench, silence(0.1), RATE).state_text
    noise = 0.1 * band(np.random.default_rng(21).standard_normal(3 * RATE), RATE, 20, 20_000)
    settled = slice(RATE, None)
    spectrum = lambda signal: welch(signal[RATE:], RATE, nperseg=8192)[1]
    at = {offset: decks(bench, plain, noise, {"offset": offset}) for offset in (0.0, 2.0, -2.0)}
    own = spectrum(np.roll(noise, at[0.0].latency))
    inside = slice(round(40 * 8192 / RATE), round(16_000 * 8192 / RATE))
    for channel in (0, 1):
        together, behind, ahead = (spectrum(at[offset].audio[channel]) for offset in (0.0, 2.0, -2.0))
        name = f", channel {channel + 1}"
        louder = 10 * np.log10(np.sum(together) / np.sum(behind))
        ledger.near("decks together against 2 ms apart" + name, TRADE, louder, 3.01, 0.1, "dB")
        unswept = np.max(np.abs(decibels(np.sqrt(together / own))[inside]))
        ledger.at_most("decks together: no comb" + name, TRADE, unswept, 0.05, "dB")
        # Nulls are left out: there the noise's own chance decides.
        high = behind[inside] > np.max(own) / 10
        turned = np.median(np.abs(decibels(np.sqrt(ahead / behind))[inside][high]))
        ledger.at_most("2 ms ahead and 2 ms behind: the same comb" + name, TRADE, turned, 0.1, "dB")


def mono_gain_db(first, second):
    """Power of the sum against the mean of both around the first null of 10 cm; 6.02 dB when they are one."""
    settled = slice(RATE, -RATE // 4)
    first, second = (band(channel[settled], RATE, 1200, 2400) for channel in (first, second))
    return 10 * np.log10(np.mean((first + second) ** 2) / np.mean((first**2 + second**2) / 2))
