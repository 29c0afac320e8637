"""The mono sum of the hosted plugin: comb of two channels with a known gap, and what it costs, against closed forms."""

import numpy as np
from scipy.signal import welch

import host
from stimuli import band, decibels

RATE = 48_000
CLOSED = "|H| = sqrt(1 + a² + 2a cos 2πfτ); Everest & Pohlmann, Master Handbook of Acoustics, ch. 10"
LOSS = "10 log10((1 + ρ) / 2), ρ the mean of the spectrum times cos 2πfτ (computed)"
SABOTAGES = [host.SIGN, host.LATE, host.NAIVE]

# Level of the copy, dB; peak and null of the sum against one channel alone, dB (closed form, two decimals).
LEVELS = [(-3.0, 4.65, -10.69), (-6.0, 3.53, -6.04), (-9.54, 2.50, -3.52), (-10.0, 2.39, -3.30)]


def run(bench, ledger):
    check_nulls(bench, ledger)
    for level, peak, null in LEVELS:
        check_level(bench, ledger, level, peak, null)
    check_curve(bench, ledger)
    check_losses(bench, ledger)
    check_alone(bench, ledger)


def mono_sum(bench, first, second, nudge_samples, settings=None):
    """What Mono sends, times two: the plain sum; and the first channel as it went in, at the same place."""
    channels = np.stack([first, second, 0 * first, 0 * first])
    settings = {"Nudge second": 1000 * nudge_samples / RATE, **(settings or {})}
    stereo = host.render_vst3(bench, channels, RATE, settings)
    return stereo.audio[0] + stereo.audio[1], stereo


def tone(hertz, seconds=1.0):
    return 0.25 * np.sin(2 * np.pi * hertz * np.arange(int(seconds * RATE)) / RATE)


def level_of(signal, hertz):
    """Amplitude of one frequency, by projection over the settled middle."""
    part = signal[RATE // 2 : RATE // 2 + RATE // 4]
    turn = np.exp(-2j * np.pi * hertz * np.arange(len(part)) / RATE)
    return 2 * abs(np.mean(part * turn))


def gain_db(bench, hertz, nudge_samples, copy=1.0):
    signal = tone(hertz)
    total, _ = mono_sum(bench, signal, copy * signal, nudge_samples)
    return decibels(level_of(total, hertz) / 0.25)


def check_nulls(bench, ledger):
    """1 ms: nulls at 500 Hz and its odd multiples, peaks at whole kHz."""
    for hertz in (1000, 2000, 5000):
        ledger.near(f"1 ms gap, peak at {hertz} Hz", CLOSED, gain_db(bench, hertz, 48.0), 6.02, 0.05, "dB")
    for hertz in (500, 1500, 4500):
        ledger.at_most(f"1 ms gap, null at {hertz} Hz", CLOSED, gain_db(bench, hertz, 48.0), -60, "dB")
    inch = 0.0254 / (331.3 * np.sqrt(1 + 20 / 273.15))
    null = 1 / (2 * inch)
    nearest = 4 * round(null / 4)
    expected = decibels(2 * np.cos(np.pi * nearest * round(inch * RATE, 6) / RATE))
    ledger.at_most("an inch apart, first null near 6.76 kHz", "1 / (2τ), c = 331.3 √(1 + T/273.15) (computed)",
                   gain_db(bench, nearest, inch * RATE), max(expected, -45) + 1, "dB")


def check_level(bench, ledger, level, peak, null):
    copy = 10 ** (level / 20)
    ledger.near(f"copy at {level:g} dB, peak", CLOSED, gain_db(bench, 1000, 48.0, copy), peak, 0.05, "dB")
    ledger.near(f"copy at {level:g} dB, null", CLOSED, gain_db(bench, 500, 48.0, copy), null, 0.05, "dB")


def check_curve(bench, ledger):
    """The whole curve at once: noise, gap 7.3 samples, copy at -2 dB."""
    random = np.random.default_rng(5)
    noise = 0.1 * band(random.standard_normal(4 * RATE), RATE, 20, 20_000)
    copy, gap = 10 ** (-2 / 20), 7.3
    total, stereo = mono_sum(bench, noise, copy * noise, gap)
    part = slice(RATE // 2, None)
    hertz, power = welch(total[part], RATE, nperseg=4096)
    _, alone = welch(np.roll(noise, stereo.latency)[part], RATE, nperseg=4096)
    inside = (hertz > 40) & (hertz < 15_000)
    expected = np.sqrt(1 + copy**2 + 2 * copy * np.cos(2 * np.pi * hertz * gap / RATE))
    error = np.max(np.abs(decibels(np.sqrt(power / alone)) - decibels(expected))[inside])
    ledger.at_most("whole curve, 7.3 samples, copy at -2 dB: worst error", CLOSED, error, 0.1, "dB")


def check_losses(bench, ledger):
    """Mono-sum loss of noise and sines with a known gap, against the closed form."""
    for colour, slope in (("white", 0.0), ("pink", -0.5)):
        random = np.random.default_rng(8)
        spectrum = np.fft.rfft(random.standard_normal(8 * RATE))
        hertz = np.fft.rfftfreq(8 * RATE, 1 / RATE)
        inside = (hertz >= 20) & (hertz <= 20_000)
        shape = np.where(inside, np.maximum(hertz, 1) ** slope, 0)
        noise = np.fft.irfft(spectrum * shape)
        noise *= 0.1 / np.std(noise)
        for gap in (1.0, 4.8, 24.0):
            total, stereo = mono_sum(bench, noise, noise, gap)
            part = slice(RATE, None)
            single = np.mean(stereo.audio[0][part] ** 2)
            measured = 10 * np.log10(np.mean(total[part] ** 2) / (4 * single))
            lines = np.abs(spectrum * shape) ** 2
            rho = np.sum(lines * np.cos(2 * np.pi * hertz * gap / RATE)) / np.sum(lines)
            expected = 10 * np.log10((1 + rho) / 2)
            ledger.near(f"{colour} noise, gap {gap:g} samples: mono-sum loss", LOSS, measured, expected, 0.05, "dB")
    for turns, expected in ((0.25, -3.01), (1 / 3, -6.02)):
        gap = turns * RATE / 1000
        loss = gain_db(bench, 1000, gap) - 6.0206
        ledger.near(f"sine, fτ = {turns:.3g}: mono-sum loss", "20 log10 |cos πfτ| (computed)", loss, expected, 0.02, "dB")


def check_alone(bench, ledger):
    """Monitor leaves an offline render alone, whatever it is set to."""
    signal = tone(1000)
    channels = np.stack([signal, -signal, 0 * signal, 0 * signal])
    stereo = host.render_vst3(bench, channels, RATE, {"Monitor": "Mono"})
    late = stereo.latency
    error = np.max(np.abs(stereo.audio[1][late:] - channels[1][: len(signal) - late]))
    ledger.at_most("Monitor leaves an offline render alone", "the manual's promise", error, 1e-7)
