"""Wow and flutter of the moving deck, read as AES6 reads them, against the knobs that say the reading."""

import numpy as np

import host
from sweep import RATE, clock, decks, silence

AES6 = "AES6-2008 (IEC 60386): 3150 Hz, weighted, two-sigma; weighting table as coded in an open AES6 meter"
TONES = "check tones of a published software flutter meter's guide"
SABOTAGES = [host.UNSTEADY]

TONE_HZ = 3150.0
# Hertz, decibels.
WEIGHTING = np.array([(0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0), (1.0, -4.2),
                      (1.6, -1.8), (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1), (20.0, -5.9), (40.0, -10.4),
                      (63.0, -14.2), (100.0, -17.3), (200.0, -23.0)])
# Modulation in hertz, reading in per cent of 0.1 % peak deviation, tolerance as a part.
CHECK_TONES = [(4.0, 0.0997, 0.05), (0.8, 0.0499, 0.05), (20.0, 0.0506, 0.05), (0.2, 0.0030, 0.2)]


def run(bench, ledger):
    for hertz, expected, part in CHECK_TONES:
        seconds = clock(30.0)
        # Phase of a tone whose frequency swings by 0.1 %.
        swing = 0.001 * TONE_HZ / hertz * np.sin(2 * np.pi * hertz * seconds)
        measured = reading(0.25 * np.sin(2 * np.pi * TONE_HZ * seconds + swing))
        ledger.near(f"our reading of 0.1 % at {hertz:g} Hz", TONES, measured, expected, part * expected, "%")
    plain = host.render_vst3(bench, silence(0.1), RATE).state_text
    tone = 0.25 * np.sin(2 * np.pi * TONE_HZ * clock(60.0))
    for wow, flutter in ((0.1, 0.0), (0.0, 0.1), (0.5, 0.0), (0.0, 0.5)) if bench.full else ((0.1, 0.0), (0.0, 0.1)):
        result = decks(bench, plain, tone, {"blend": 100.0, "wow": wow, "flutter": flutter})
        for channel in (0, 1):
            ledger.near(f"Wow {wow:g} %, Flutter {flutter:g} %, channel {channel + 1}", AES6,
                        reading(result.audio[channel][RATE:]), wow + flutter, 0.1 * (wow + flutter), "%")
    still = decks(bench, plain, tone[: 20 * RATE], {"blend": 100.0})
    ledger.at_most("both at zero", AES6, max(reading(channel[RATE:]) for channel in still.audio), 1e-4, "%")


def reading(tone):
    """Weighted deviation in per cent that is passed 5 % of the time; the first and last two seconds only settle."""
    turn = tone * np.exp(-2j * np.pi * TONE_HZ * np.arange(len(tone)) / RATE)
    # Means over 10 ms, every millisecond.
    step, width = RATE // 1000, RATE // 100
    window = np.hanning(width)
    count = (len(turn) - width) // step
    means = np.array([np.sum(turn[k * step : k * step + width] * window) for k in range(count)])
    deviation = np.diff(np.unwrap(np.angle(means))) * 1000 / (2 * np.pi * TONE_HZ)
    spectrum = np.fft.rfft(deviation - np.mean(deviation))
    hertz = np.maximum(np.fft.rfftfreq(len(deviation), 1e-3), 1e-3)
    weight = 10 ** (np.interp(np.log(hertz), np.log(WEIGHTING[:, 0]), WEIGHTING[:, 1]) / 20)
    weighted = np.fft.irfft(spectrum * weight, len(deviation))[2000:-2000]
    return 100 * np.percentile(np.abs(weighted), 95)
