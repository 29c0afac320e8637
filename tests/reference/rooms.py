"""A whole kit in shoebox rooms with known geometry: the gap by the plugin and by the two ordinary ways, side by side."""

from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import numpy as np
import pyroomacoustics
from scipy.signal import lfilter

import host
from baselines import correlation_gap, phat_gap

RATE = 48_000
SOURCE = "image sources (pyroomacoustics; Allen & Berkley 1979), gap from the geometry"
SABOTAGES = [host.SIGN, host.LATE]

QUICK, FULL = 8, 100
# Median error that is allowed, samples.
CONDITIONS = {"equal microphones": 0.1, "unequal microphones": 0.3}
WORKERS = 2
# An error beyond this is a wrong pick, samples.
GROSS = 5.0
# Lags that are searched by the ordinary ways: 3 ms, as far as any overhead pair is apart in time.
MOST = int(0.003 * RATE)

SECONDS = 8.0
BEAT = 0.5
# Sources, metres from the snare: across, along the drummer's view, up. A usual kit (common practice, no source).
DRUMS = {
    "snare": (0.0, 0.0, 0.65),
    "kick": (0.25, 0.45, 0.35),
    "high tom": (-0.05, 0.40, 0.80),
    "low tom": (0.65, 0.05, 0.65),
    "hat": (-0.45, 0.10, 0.90),
    "ride": (0.60, 0.40, 1.05),
}


def run(bench, ledger):
    rooms = FULL if bench.full else QUICK
    # A process for each core: the echoes are most of the work. Fresh ones, because the host's threads do not survive a fork.
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as workers:
        pairs = list(workers.map(partial(one_room, bench), range(rooms)))
    results = dict(zip(CONDITIONS, zip(*pairs)))
    for name, limit in CONDITIONS.items():
        rows = summarise(results[name])
        ledger.note(table(name, rows, rooms))
        wrong = [f"{number} ({errors['plugin'][0]:.1f})" for number, errors in enumerate(results[name]) if errors["plugin"][0] > GROSS or not errors["plugin"][1]]
        ledger.note("Rooms in which the plugin is wrong about gap or polarity (error in samples): " + (", ".join(wrong) or "none") + ".")
        plugin = rows["plugin"]
        ledger.at_most(f"{name}: wrong picks (> 5 samples)", SOURCE, plugin["gross"], 0)
        ledger.at_most(f"{name}: median error", SOURCE, plugin["median"], limit, "samples")
        ledger.equal(f"{name}: polarity right", SOURCE, f"{plugin['polarity']} of {rooms}", f"{rooms} of {rooms}")
        for other in ("whole-programme correlation", "GCC-PHAT"):
            ledger.at_most(f"{name}: wrong picks against {other}", SOURCE, plugin["gross"], rows[other]["gross"])


def one_room(bench, number):
    """Answers with equal and with unequal microphones."""
    random = np.random.default_rng(7000 + number)
    take, truth, sign = session(random, equal=number % 3 == 0)
    return answers(bench, take, truth, sign), answers(bench, coloured(take, random), truth, sign)


def answers(bench, take, truth, sign):
    """Errors in samples and whether the polarity is right, for each of the three."""
    overheads, spot = take[:2], take[2]
    result = host.render_vst3(bench, np.stack([*overheads, spot, spot]), RATE, {"Measure": "On"})
    gap = result.lag("gap")
    measured = (gap["attack_s"] * RATE, {"same": 1, "inverted": -1}.get(gap["polarity"], 0)) if gap else (np.inf, 0)
    found = {
        "plugin": measured,
        "whole-programme correlation": correlation_gap(*overheads, MOST),
        "GCC-PHAT": phat_gap(*overheads, MOST),
    }
    return {name: (abs(lag - truth), polarity == sign) for name, (lag, polarity) in found.items()}


def coloured(take, random):
    """Each overhead through three bells of its own, up to 4 dB: microphones of unlike models, or one that is older."""
    take = take.copy()
    for channel in (0, 1):
        for _ in range(3):
            b, a = bell(random.uniform(300, 8000), random.uniform(-4, 4), random.uniform(0.7, 2.0))
            take[channel] = lfilter(b, a, take[channel])
    return take


def bell(hertz, gain_db, q):
    """A peaking filter (R. Bristow-Johnson's cookbook, from memory)."""
    turn, gain = 2 * np.pi * hertz / RATE, 10 ** (gain_db / 40)
    alpha = np.sin(turn) / (2 * q)
    b = [1 + alpha * gain, -2 * np.cos(turn), 1 - alpha * gain]
    a = [1 + alpha / gain, -2 * np.cos(turn), 1 - alpha / gain]
    return np.array(b) / a[0], np.array(a) / a[0]


def summarise(results):
    rows = {}
    for name in results[0]:
        errors = np.array([result[name][0] for result in results])
        rows[name] = {
            "median": float(np.median(errors)),
            "most": float(np.percentile(errors, 90)),
            "gross": int(np.sum(errors > GROSS)),
            "polarity": sum(result[name][1] for result in results),
        }
    return rows


def table(name, rows, rooms):
    lines = [f"| {rooms} rooms, {name}: error of the gap in samples | median | 90 % below | wrong picks | polarity right |",
             "|---|---|---|---|---|"]
    for who, row in rows.items():
        lines.append(f"| {who} | {row['median']:.2f} | {row['most']:.2f} | {row['gross']} of {rooms} | {row['polarity']} of {rooms} |")
    return "\n".join(lines)


def session(random, equal):
    """First and second overhead and the snare's spot; the gap in samples; -1 where the second is inverted."""
    size = np.array([random.uniform(4.5, 8.0), random.uniform(4.0, 7.0), random.uniform(2.6, 3.6)])
    seconds = random.uniform(0.25, 0.9)
    absorption, order = pyroomacoustics.inverse_sabine(seconds, size)
    room = pyroomacoustics.ShoeBox(size, fs=RATE, materials=pyroomacoustics.Material(min(absorption, 0.95)),
                                   max_order=min(order, 12), air_absorption=True)
    snare = np.array([size[0] * random.uniform(0.4, 0.6), size[1] * random.uniform(0.35, 0.5), 0.0])
    places = {name: snare + np.array(place) for name, place in DRUMS.items()}
    microphones = overheads(places["snare"], size, random, equal)
    spot = places["snare"] + np.array([-0.05, -0.12, 0.07])
    room.add_microphone_array(np.stack([*microphones, spot]).T)
    for name, place in places.items():
        room.add_source(place, signal=part(name, random))
    room.simulate()
    signals = np.array(room.mic_array.signals)[:, : int(SECONDS * RATE)]
    signals /= np.max(np.abs(signals), axis=1, keepdims=True) * np.array([[2.0], [2.0], [2.0]])
    signals += random.uniform(1e-5, 1e-4) * random.standard_normal(signals.shape)
    sign = -1 if random.random() < 0.5 else 1
    signals[1] *= sign
    ways = [np.linalg.norm(microphone - places["snare"]) for microphone in microphones]
    return signals, (ways[1] - ways[0]) / room.c * RATE, sign


def overheads(snare, size, random, equal):
    """Two places above the kit, one a side: as far from the snare as each other, or each as it comes."""
    ways = []
    first_way = random.uniform(0.9, 1.5)
    for side, way in ((-1, first_way), (1, first_way if equal else random.uniform(0.9, 1.5))):
        across = np.radians(random.uniform(20, 50))
        along = np.radians(random.uniform(-15, 15))
        direction = np.array([side * np.sin(across), np.sin(along), np.cos(across)])
        place = snare + way * direction / np.linalg.norm(direction)
        ways.append(np.clip(place, 0.2, size - 0.1))
    return ways


def part(name, random):
    """What one drum plays: 120 bpm, snare on 2 and 4, kick on 1 and 3, hat in eighths, ride in quarters, toms at the end."""
    beats = {
        "snare": [1, 3, 5, 7, 9, 11, 13],
        "kick": [0, 2, 4, 6, 8, 10, 12, 14],
        "high tom": [7.5, 14.5],
        "low tom": [7.75, 15],
        "hat": np.arange(0, 15, 0.5),
        "ride": np.arange(0, 15, 1.0) + 0.25,
    }[name]
    signal = np.zeros(int(SECONDS * RATE))
    for beat in beats:
        begin = int((0.2 + BEAT * beat + random.normal(0, 0.003)) * RATE)
        begin = max(begin, 0)
        stroke = LEVELS[name] * random.uniform(0.6, 1.0) * SOUNDS[name](random)
        length = min(len(stroke), len(signal) - begin)
        signal[begin : begin + length] += stroke[:length]
    return signal


def ring(seconds):
    return np.arange(int(seconds * RATE)) / RATE


def membrane(modes, fall, click, random):
    """A head: a few modes that fall away, and a stick's noise of a few milliseconds."""
    t = ring(0.4)
    tone = sum(level * np.sin(2 * np.pi * hertz * t) * np.exp(-t / fall) for hertz, level in modes)
    return tone + click * random.standard_normal(len(t)) * np.exp(-t / 0.003)


def metal(low_hz, fall, random):
    """A cymbal: noise without its low end, by two differences."""
    t = ring(min(4 * fall, 1.0))
    noise = random.standard_normal(len(t))
    for _ in range(2):
        noise = np.diff(noise, prepend=0.0) * min(1.0, low_hz / RATE * 8)
    return noise * np.exp(-t / fall)


SOUNDS = {
    "snare": lambda random: membrane([(185, 0.6), (330, 0.4), (420, 0.2)], 0.06, 0.5, random)
    + 0.4 * np.pad(random.standard_normal(int(0.2 * RATE)) * np.exp(-ring(0.2) / 0.05), (0, int(0.4 * RATE) - int(0.2 * RATE))),
    "kick": lambda random: membrane([(60, 1.0), (95, 0.4)], 0.12, 0.15, random),
    "high tom": lambda random: membrane([(140, 1.0), (220, 0.4)], 0.15, 0.15, random),
    "low tom": lambda random: membrane([(90, 1.0), (150, 0.4)], 0.2, 0.15, random),
    "hat": lambda random: metal(6000, 0.04, random),
    "ride": lambda random: metal(4000, 0.25, random),
}
# Against the snare (common practice, no source).
LEVELS = {"snare": 1.0, "kick": 0.9, "high tom": 0.7, "low tom": 0.7, "hat": 0.15, "ride": 0.15}
