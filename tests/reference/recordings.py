"""Real strokes and grooves: gaps, agreement of halves, an injected shift, and what the mono sum gains."""

import numpy as np
import pedalboard.io

import host
from stimuli import band, delayed

RATE = 44_100
PICKERS = "two CC0 sets of multi-microphone strokes; consensus of twelve first-arrival pickers, median over strokes"
INJECTED = "the recorded second channel delayed by numpy"
BRUTE = "best of all gaps within 1 ms of the Attack gap, by brute force"
SABOTAGES = [host.SIGN, host.LATE]

# Label, folder, gap and its tolerance in samples: what the pickers agree to. Then spot to first and second where they agree about
# those to 3 samples.
SNARES = [
    ("snare A", "14a_rimshot", -1.3, 1.0, (77.0, 75.7)),
    ("snare B", "14s_basic", -1.1, 1.5, (77.1, 77.1)),
    ("snare C", "16_basic", 3.4, 2.0, (139.8, 142.7)),
    ("snare D", "20m_basic", -0.5, 2.0, (72.4, 72.7)),
    ("snare E", "22_spring", 32.7, 5.0, None),
    ("snare F", "13b_rimshot", -8.0, 5.0, None),
    ("snare G", "20_prep", 8.0, 6.0, None),
]
SPOT_TOLERANCE = 3.0
# Name, spot, first, second, beginning of the files' names, gap, tolerance, spot to first and second.
KIT = [
    ("kit snare, near pair", "snare_mic", "oh_mic", "side_mic", "sc_", 1.0, 1.0, (85.8, 86.9)),
    ("kit snare, far pair", "snare_mic", "front_mic", "wndw_mic", "sc_", -1.2, 0.5, (239.9, 238.8)),
    ("kit kick, near pair", "kick_mic", "oh_mic", "side_mic", "ks_", -32.6, 5.0, None),
]
# Halves may differ by this many of their own standard errors (normal law, one in 16 000), or by this many samples.
HALVES_SPREADS, HALVES_SAMPLES = 4.0, 1.0
QUICK_SETS = ("snare A", "kit snare, near pair")
SHIFT = 7.37
# Seconds between strokes, and of silence before the first one.
SPACING, LEAD = 1.0, 0.3
# Lags that are tried in a sample.
STEPS = 4
# Peak of the noise that fills the silence.
FLOOR = 3e-5


def run(bench, ledger):
    if bench.recordings is None:
        ledger.skip("real strokes", "no recordings: set PLUMBLINE_RECORDINGS to their folder")
        return
    rows = [row for row in (check_set(bench, ledger, *entry) for entry in sets(bench)) if row]
    rows += check_grooves(bench, ledger)
    ledger.note("\n".join(["| set | strokes counted / refused | Attack | Body | spread | spot to first / second | polarity | halves apart | mono sum, found / best |",
                           "|---|---|---|---|---|---|---|---|---|", *rows]))


def sets(bench):
    """Name, strokes as (spot, first, second), gap, tolerance."""
    entries = []
    for name, kept_in, gap, tolerance, ways in SNARES:
        folder = bench.recordings / "snares" / kept_in
        strokes = []
        for path in sorted((folder / "oh").glob("*.flac")):
            spot = folder / "top" / path.name
            if spot.exists():
                pair = read(path)
                strokes.append((read(spot)[0], pair[0], pair[-1]))
        entries.append((name, strokes, gap, tolerance, ways))
    for name, spot, first, second, start, gap, tolerance, ways in KIT:
        paths = sorted((bench.recordings / "kit" / spot).glob(f"{start}*.wav"))
        kit = lambda microphone, path: read(bench.recordings / "kit" / microphone / path.name)[0]
        strokes = [tuple(kit(microphone, path) for microphone in (spot, first, second)) for path in paths]
        entries.append((name, strokes, gap, tolerance, ways))
    return [entry for entry in entries if bench.full or entry[0] in QUICK_SETS]


def read(path):
    with pedalboard.io.AudioFile(str(path)) as file:
        return file.read(file.frames).astype(np.float64)


def take_of(strokes, seed=1):
    """The strokes one after the other, a second apart, with a low floor of noise before them: the files begin at once."""
    random = np.random.default_rng(seed)
    length = int((LEAD + SPACING * len(strokes) + 0.5) * RATE)
    channels = FLOOR * random.standard_normal((3, length))
    for place, stroke in enumerate(strokes):
        begin = int((LEAD + SPACING * place) * RATE)
        for channel, signal in zip(channels, stroke):
            part = faded(signal[: int((SPACING - 0.05) * RATE)])
            channel[begin : begin + len(part)] += part[: len(channel) - begin]
    return channels


def faded(signal):
    """A cut end would be a click, which is a hit."""
    length = min(int(0.1 * RATE), len(signal))
    signal = signal.copy()
    signal[len(signal) - length :] *= np.linspace(1, 0, length)
    return signal


def measure(bench, channels, knobs={}):
    spot, first, second = channels
    return host.render_vst3(bench, np.stack([first, second, spot, spot]), RATE, {"Measure": "On", **knobs})


def check_set(bench, ledger, name, strokes, expected, tolerance, ways):
    channels = take_of(strokes)
    result = measure(bench, channels)
    gap = result.lag("gap")
    if gap is None:
        ledger.note_check(f"{name}: a gap is found", PICKERS, "a gap", "none", False)
        return None
    attack = gap["attack_s"] * RATE
    ledger.near(f"{name}: Attack gap", PICKERS, attack, expected, tolerance, "samples")
    spots = [spot_way(result, which) for which in ("spot_to_first", "spot_to_second")]
    for which, found, way in zip(("first", "second"), spots, ways or ()):
        ledger.near(f"{name}: spot to {which}", PICKERS, found, way, SPOT_TOLERANCE, "samples")
    apart = check_halves(bench, ledger, name, strokes)
    shifted = channels.copy()
    shifted[2] = delayed(channels[2], SHIFT)
    moved = measure(bench, shifted).lag("gap")
    change = (moved["attack_s"] - gap["attack_s"]) * RATE if moved else np.inf
    ledger.near(f"{name}: change by an injected {SHIFT} samples", INJECTED, change, SHIFT, 0.02, "samples")
    found, best = mono_gain(channels, gap)
    ledger.at_least(f"{name}: Body against the fullest mono sum", BRUTE, found - best, -0.1, "dB")
    return row(name, result, f"{apart:.2f}", f"{found:+.2f} / {best:+.2f} dB")


def row(name, result, apart="", sums=""):
    gap, measurement = result.lag("gap"), result.measurement
    samples = lambda seconds: f"{seconds * RATE:+.2f}"
    ways = " / ".join(f"{spot_way(result, which):.1f}" for which in ("spot_to_first", "spot_to_second"))
    hits = f"{measurement['hits']} / {sum(measurement['refused'].values())}"
    cells = [name, hits, samples(gap["attack_s"]), samples(gap["body_s"]), f"{gap['spread_s'] * RATE:.2f}", ways, gap["polarity"], apart, sums]
    return f"| {' | '.join(cells)} |"


def spot_way(result, which):
    lag = result.lag(which)
    return lag["attack_s"] * RATE if lag else np.nan


def check_halves(bench, ledger, name, strokes):
    """Odd against even strokes: no further apart than what each half says of itself allows."""
    halves = [measure(bench, take_of(strokes[start::2])).lag("gap") for start in (0, 1)]
    if not all(halves):
        ledger.note_check(f"{name}: odd against even strokes", "split halves", "two gaps", "one is missing", False)
        return np.inf
    odd, even = halves
    apart = abs(odd["attack_s"] - even["attack_s"]) * RATE
    spread = np.hypot(odd["spread_s"], even["spread_s"]) * RATE
    limit = max(HALVES_SPREADS * spread, HALVES_SAMPLES)
    ledger.at_most(f"{name}: odd against even strokes", "split halves", apart, round(limit, 2), "samples")
    return apart


def mono_gain(channels, gap):
    """Gain of the mono sum, 100 Hz to 6 kHz over the first 40 ms of the strokes, with the Body gap taken out, and the best
    that any gap within 1 ms of the Attack gap gives; dB against the sum as recorded."""
    _, first, second = (band(channel, RATE, 100, 6000) for channel in channels)
    onsets = np.arange(int((channels.shape[1] / RATE - LEAD - 0.5) / SPACING)) * SPACING + LEAD
    mask = np.zeros(len(first), dtype=bool)
    for onset in onsets:
        mask[int(onset * RATE) : int((onset + 0.04) * RATE) + 150] = True
    sign = -1 if gap["polarity"] == "inverted" else 1
    first, second = first * mask, second * mask
    size = 2 * len(first)
    spectrum = sign * np.fft.rfft(second, size) * np.conj(np.fft.rfft(first, size))
    hertz = np.arange(len(spectrum)) / size
    power = np.sum(first**2) + np.sum(second**2)
    # Σ first · second turned back by the lag: twice the real part of the one-sided sum over the length.
    shared = lambda lag: 2 * np.sum(np.real(spectrum * np.exp(2j * np.pi * hertz * lag))) / size
    recorded = power + 2 * sign * shared(0.0)
    gain_db = lambda shared_power: 10 * np.log10((power + 2 * shared_power) / recorded)
    curve = STEPS * np.fft.irfft(spectrum, STEPS * size)
    middle, reach = round(gap["attack_s"] * RATE * STEPS), round(0.001 * RATE * STEPS)
    best = np.max(curve[np.arange(middle - reach, middle + reach + 1)])
    return gain_db(shared(gap["body_s"] * RATE)), gain_db(best)


def check_grooves(bench, ledger):
    """A groove summed from whole strokes, all drums bleeding: the snare's gap with the snare's spot, the kick's with the
    kick's, which is asked for: a kick's spot alone leaves the pair on the snare."""
    kit = bench.recordings / "kit"
    cases = [("snare, near pair", "snare_mic", "oh_mic", "side_mic", 1.0, 1.5, {}),
             ("snare, far pair", "snare_mic", "front_mic", "wndw_mic", -1.2, 1.0, {})]
    if bench.full:
        cases.append(("kick, near pair", "kick_mic", "oh_mic", "side_mic", -32.6, 5.0, {"Drum": "Kick"}))
    rows = []
    for name, spot, first, second, expected, tolerance, knobs in cases:
        result = measure(bench, groove(kit, (spot, first, second)), knobs)
        gap = result.lag("gap")
        measured = gap["attack_s"] * RATE if gap else np.inf
        ledger.near(f"groove, {name}", PICKERS, measured, expected, tolerance, "samples")
        rows += [row(f"groove, {name}", result)] if gap else []
    return rows


def groove(kit, microphones, bars=8, seed=4):
    """120 bpm: kick on 1 and 3, snare on 2 and 4 with a ghost note, hat in sixteenths, two toms every second bar; 3 ms of
    human timing, the same for every microphone."""
    random = np.random.default_rng(seed)
    cache = {}

    def strokes(start):
        if start not in cache:
            names = [path.name for path in sorted((kit / microphones[0]).glob(f"{start}*.wav"))]
            cache[start] = [[read(kit / microphone / name)[0] for microphone in microphones] for name in names]
        return cache[start]

    sixteenth = 60 / 120 / 4
    length = int((LEAD + bars * 16 * sixteenth + 1.5) * RATE)
    channels = FLOOR * random.standard_normal((3, length))
    for bar in range(bars):
        notes = [("ht", step, 0.5) for step in range(16)] + [("ks", 0, 1.0), ("ks", 8, 1.0), ("sc", 4, 1.0), ("sc", 12, 1.0), ("sc", 7, 0.2)]
        if bar % 2:
            notes += [("th", 14, 0.8), ("tl", 15, 0.8)]
        for start, step, level in notes:
            choice = strokes(start)
            stroke = choice[random.integers(len(choice))]
            begin = int((LEAD + (bar * 16 + step) * sixteenth + random.normal(0, 0.003)) * RATE)
            for channel, signal in zip(channels, stroke):
                part = level * faded(signal)[: length - begin]
                channel[begin : begin + len(part)] += part
    # The sum may pass full scale: a recording would have been made with less gain, all microphones alike.
    return channels * min(1.0, 0.9 / np.max(np.abs(channels)))
