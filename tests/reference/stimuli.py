"""Test signals with fixed seeds: strokes of a drum, noise, band-limited delays."""

import numpy as np
from scipy.signal import butter, sosfilt


def delayed(signal, samples):
    """An ideal delay of a band-limited signal, by turning the phase of its spectrum. Zero outside, so nothing wraps."""
    size = 2 * len(signal)
    spectrum = np.fft.rfft(signal, size)
    turn = np.exp(-2j * np.pi * np.arange(len(spectrum)) / size * samples)
    return np.fft.irfft(spectrum * turn, size)[: len(signal)]


def band(signal, rate, low_hz, high_hz):
    """Only what lies between two frequencies, with raised-cosine edges a third of an octave wide."""
    spectrum = np.fft.rfft(signal)
    hertz = np.maximum(np.fft.rfftfreq(len(signal), 1 / rate), 1e-9)
    rise = lambda octaves: 0.5 - 0.5 * np.cos(np.pi * np.clip(3 * octaves, 0, 1))
    gain = rise(np.log2(hertz / low_hz)) * rise(np.log2(high_hz / hertz))
    return np.fft.irfft(spectrum * gain, len(signal))


def strokes(rate, seconds, times, random, low_hz=120.0, high_hz=9000.0):
    """Strokes of a snare-like drum: a shell tone and a burst of noise. The filter looks only back, as air does: one that
    rings before the stroke would bury the wavefront."""
    signal = np.zeros(int(seconds * rate))
    ring = np.arange(int(0.2 * rate)) / rate
    for time in times:
        burst = random.standard_normal(len(ring)) * np.exp(-ring / 0.018)
        tone = np.sin(2 * np.pi * 196 * ring) * np.exp(-ring / 0.06)
        begin = int(time * rate)
        stroke = (0.5 * burst + tone)[: len(signal) - begin]
        signal[begin : begin + len(stroke)] += random.uniform(0.7, 1.0) * stroke
    signal = sosfilt(butter(4, [low_hz, high_hz], "bandpass", fs=rate, output="sos"), signal)
    return 0.4 * signal / np.max(np.abs(signal))


def decibels(ratio):
    return 20 * np.log10(np.maximum(np.abs(ratio), 1e-20))


def residue_db(measured, expected):
    """Power of the difference against the power of what was expected."""
    difference = np.asarray(measured) - np.asarray(expected)
    return decibels(np.sqrt(np.mean(difference**2) / np.mean(np.asarray(expected) ** 2)))
