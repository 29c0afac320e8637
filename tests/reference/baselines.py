"""The two ordinary ways to find a delay between two channels, given the same sessions as the plugin."""

import numpy as np


def correlation_gap(first, second, most):
    """Whole-programme cross-correlation: the lag, in samples, at which it is strongest. Also its sign."""
    size = 1 << (len(first) + most).bit_length()
    spectrum = np.fft.rfft(second, size) * np.conj(np.fft.rfft(first, size))
    return peak(spectrum, size, most)


def phat_gap(first, second, most):
    """Whole-programme GCC-PHAT: every frequency counts the same (Knapp & Carter, IEEE Trans. ASSP-24(4), 1976)."""
    size = 1 << (len(first) + most).bit_length()
    spectrum = np.fft.rfft(second, size) * np.conj(np.fft.rfft(first, size))
    return peak(spectrum / np.maximum(np.abs(spectrum), 1e-15), size, most)


def peak(spectrum, size, most):
    """The strongest lag within ± most samples, to a fraction of a sample by a spectrum sixteen times as long."""
    curve = np.fft.irfft(spectrum, size)
    near = np.concatenate([curve[-most:], curve[: most + 1]])
    whole = int(np.argmax(np.abs(near))) - most
    # Only the neighbourhood is wanted: the sum over all lines is taken at fine steps around the whole sample.
    hertz = np.arange(len(spectrum)) / size
    fine = whole + np.arange(-16, 17) / 16
    values = np.array([np.sum(np.real(spectrum * np.exp(2j * np.pi * hertz * lag))) for lag in fine])
    best = int(np.argmax(np.abs(values)))
    return fine[best], np.sign(values[best])
