"""How near the gap comes to the least scatter that any estimator can have: the Cramér-Rao bound."""

import numpy as np
from scipy.signal import butter, sosfilt

import host
from stimuli import delayed

RATE = 48_000
KNAPP = ("σ = √(3 (1 - γ²) / (8 π² T γ² (f2³ - f1³))); Knapp & Carter, IEEE Trans. ASSP-24(4), 1976; "
         "Carter, Proc. IEEE 75(2), 1987 (formula from memory)")
SABOTAGES = [host.LATE]

LOW_HZ, HIGH_HZ, SECONDS = 200.0, 8000.0, 0.020
COHERENCES = [0.5, 0.9]


def run(bench, ledger):
    for coherence in COHERENCES:
        check_formula(ledger, coherence, trials=4000 if bench.full else 1000)
    check_plugin(bench, ledger)


def bound(coherence, seconds=SECONDS):
    return np.sqrt(3 * (1 - coherence) / (8 * np.pi**2 * seconds * coherence * (HIGH_HZ**3 - LOW_HZ**3)))


def check_formula(ledger, coherence, trials):
    """A straight line fitted to the phase reaches the bound: the formula is the right one for this kind of noise."""
    random = np.random.default_rng(14)
    hertz = np.arange(LOW_HZ, HIGH_HZ, 1 / SECONDS)
    lines = lambda: random.standard_normal((trials, len(hertz))) + 1j * random.standard_normal((trials, len(hertz)))
    # Coherence of two channels with the same source and equal noise: (SNR / (1 + SNR))².
    noise = np.sqrt(1 / np.sqrt(coherence) - 1)
    source = lines()
    cross = (source + noise * lines()) * np.conj(source + noise * lines())
    turn = 2 * np.pi * hertz
    lag = np.zeros(trials)
    # A few Newton steps on Σ Re(cross · e^{jωτ}) find its top from the true lag.
    for _ in range(8):
        turned = cross * np.exp(1j * turn * lag[:, None])
        slope = -np.sum(turn * np.imag(turned), axis=1)
        lag -= slope / -np.sum(turn**2 * np.abs(np.real(turned)), axis=1)
    rms = np.sqrt(np.mean(lag**2))
    ledger.near(f"phase fit, γ² = {coherence:g}, {trials} trials: rms against the bound", KNAPP, rms / bound(coherence), 1.0, 0.15)


def check_plugin(bench, ledger):
    """Strokes with a short burst each and noise far below: scatter of the gap from stroke to stroke in the hosted plugin,
    as its log tells it, against its own claim of a standard error."""
    random = np.random.default_rng(15)
    count = 60 if bench.full else 20
    times = 0.3 + 0.35 * np.arange(count)
    seconds = times[-1] + 0.6
    spot = bursts(random, times, seconds)
    gap = 5.3
    pair = [0.5 * delayed(spot, 120.0), 0.5 * delayed(spot, 120.0 + gap)]
    strength = np.max(np.abs(pair[0]))
    floor = lambda: strength * 10 ** (-40 / 20) * random.standard_normal(len(spot))
    take = np.stack([pair[0] + floor(), pair[1] + floor(), spot, spot])
    result = host.render_vst3(bench, take, RATE, {"Measure": "On"})
    lag = result.lag("gap")
    error = abs(lag["attack_s"] * RATE - gap)
    # The wires sound different with every stroke; the body says that they are one drum's.
    ledger.at_least(f"strokes counted of {count}", "nine of ten", result.measurement["hits"], 0.9 * count)
    ledger.at_most(f"gap in noise 40 dB below the strokes, {count} strokes", "delay by numpy", error, 0.1, "samples")
    ledger.at_most("error against the plugin's own standard error", "three standard errors (normal law)",
                   error / max(lag["spread_s"] * RATE, 1e-3), 4.0)


def bursts(random, times, seconds):
    """A drum's body of 190 Hz, and flat noise of the band that is new with every stroke; both fall away, with a clean start."""
    signal = np.zeros(int(seconds * RATE))
    t = np.arange(int(0.15 * RATE)) / RATE
    for time in times:
        begin = int(time * RATE)
        body = 0.7 * np.sin(2 * np.pi * 190.0 * t)
        signal[begin : begin + len(t)] += (random.standard_normal(len(t)) + body) * np.exp(-t / 0.02)
    signal = sosfilt(butter(4, [LOW_HZ, HIGH_HZ], "bandpass", fs=RATE, output="sos"), signal)
    return 0.4 * signal / np.max(np.abs(signal))
