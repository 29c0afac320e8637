"""The fractional delay of the hosted plugin against an ideal one: the phase of the spectrum turned, by numpy."""

import numpy as np

import host
from stimuli import band, decibels, delayed

SOURCE = "ideal delay: phase of the spectrum turned (numpy)"
SABOTAGES = [host.SIGN, host.LATE, host.NAIVE]

# Rate and the highest frequency that is asked for.
RATES = {44_100: 20_000.0, 48_000: 20_000.0, 96_000: 40_000.0}
# Nudges, samples. Spread over the fraction, both directions.
QUICK = [0.5, 3.25, 41.9, 0.07]
FULL = QUICK + [0.01, 0.125, 0.3333, 0.7071, 0.999, 7.81, 100.4, 199.6]

# Seconds of noise, and what is cut at both ends: the delay's glide and the host's start.
SECONDS, SETTLE = 2.0, 0.5


def run(bench, ledger):
    for rate, top in RATES.items():
        for samples in FULL if bench.full else QUICK:
            check(bench, ledger, rate, top, samples)


def check(bench, ledger, rate, top, samples):
    random = np.random.default_rng(int(samples * 1000) + rate)
    noise = 0.1 * band(random.standard_normal(int(SECONDS * rate)), rate, 10.0, top)
    noise = noise.astype(np.float32).astype(np.float64)
    channels = np.stack([noise, noise, 0 * noise, 0 * noise])
    nudge = np.float32(1000 * samples / rate)
    result = host.render_vst3(bench, channels, rate, {"Nudge second": float(nudge)})
    # The knob holds 32 bits: the delay that it stands for is what is asked for.
    held = host.knob(result.state, "nudge_second") * rate / 1000
    late = result.latency
    part = slice(int(SETTLE * rate), int((SECONDS - SETTLE) * rate))
    expected = delayed(noise, late + held)[part]
    magnitude_db, error_db, delay_error = response_error(result.audio[1][part], expected, rate, top)
    name = f"{rate / 1000:g} kHz, {samples:g} samples"
    ledger.at_most(f"{name}: difference from the ideal", SOURCE, error_db, -110, "dB")
    ledger.at_most(f"{name}: magnitude, 10 Hz to {top / 1000:g} kHz", SOURCE, magnitude_db, 1e-3, "dB")
    ledger.at_most(f"{name}: delay", SOURCE, delay_error, 1e-4, "samples")


def response_error(measured, expected, rate, top):
    """Worst magnitude error in dB, power of the difference in dB, and error of the delay, inside the band."""
    window = np.hanning(len(expected))
    a, b = np.fft.rfft(measured * window), np.fft.rfft(expected * window)
    hertz = np.fft.rfftfreq(len(expected), 1 / rate)
    inside = (hertz > 20) & (hertz < top * 2 ** (-1 / 3))
    ratio = smoothed(a[inside] * np.conj(b[inside])) / smoothed(np.abs(b[inside]) ** 2)
    magnitude = np.max(np.abs(decibels(np.abs(ratio))))
    error = decibels(np.sqrt(np.sum(np.abs(a - b)[inside] ** 2) / np.sum(np.abs(b[inside]) ** 2)))
    hertz = np.convolve(hertz[inside], np.ones(64) / 64, mode="valid")
    turn = np.angle(ratio) / (2 * np.pi * hertz / rate)
    weight = hertz**2
    return magnitude, error, abs(np.sum(turn * weight) / np.sum(weight))


def smoothed(values):
    """Mean over 64 neighbours: a single line of noise may be near zero."""
    return np.convolve(values, np.ones(64) / 64, mode="valid") if len(values) > 64 else values
