"""The VST3 on a bus of Ardour 7.3 with a real send to its side chain: the export against the render in-process."""

import json
import tempfile

import numpy as np

import ardour_session
import formats
import host
from stimuli import residue_db

RATE = formats.RATE
HOST = "Ardour 7.3 exporting without a window"
SAME = "Ardour's export against dawdreamer's render, both of the VST3"
# The decks' free cycle here, samples: it comes back to where it was after this time.
CYCLE = 2 * RATE
# Its automatic measurement is settled after the first four of six strokes.
SETTLED = slice(int(2.0 * RATE), int(3.2 * RATE))

SABOTAGES = [host.LATE]


def run(bench, ledger):
    if not (bench.full or bench.sabotage):
        return
    missing = ardour_session.missing()
    if missing:
        ledger.skip("the whole group", f"not installed: {', '.join(missing)} (apt-get install ardour)")
        return
    take = formats.session()
    measured = host.render_vst3(bench, take, RATE, {"Measure": "On"})
    with tempfile.TemporaryDirectory() as folder:
        session = ardour_session.Session(folder, bench.vst3, take, RATE)
        check_still(bench, ledger, session, take, measured)
        if bench.sabotage:
            return
        check_moving(bench, ledger, session, take, measured)
        check_spot(bench, ledger, session, take, measured)
        check_synced(bench, ledger, folder, measured)
        ledger.note(f"Ardour's export program died {session.deaths} times on the way and was started again; it dies with "
                    "plugins of its own too.")


def in_time(bench, take, state):
    """The render in-process with its latency taken out."""
    result = host.render_vst3(bench, take, RATE, state=state)
    return np.roll(result.audio, -result.latency, axis=1), result.latency


def check_still(bench, ledger, session, take, measured):
    """Everything that does not move: bit for bit, whatever the latency."""
    cases = {
        "corrected, the earlier overhead waits": {},
        "corrected with reach, the first overhead stays": {"reach": 7.5, "anchor": "first"},
        "corrected to the spot": {"reach": 10.0, "anchor": "spot"},
        "two decks 1 ms apart": {"mode": "sweep", "offset": 1.0},
    }
    for name, knobs in cases.items():
        state = formats.kept(measured.state_text, knobs)
        expected, latency = in_time(bench, take, state)
        whole = slice(0, take.shape[1] - latency)
        ledger.at_most(f"export, {name}", SAME, residue_db(session.export(state)[:, whole], expected[:, whole]), -120, "dB")


def check_moving(bench, ledger, session, take, measured):
    """Decks in motion: this host gives a plugin the place that is heard, not the place of the audio it hands over."""
    knobs = {"mode": "sweep", "motion": "cycle", "curve": "triangle", "range": 3.0, "sync": False, "rate": RATE / CYCLE}
    state = formats.kept(measured.state_text, knobs)
    exported = session.export(state)
    ledger.at_most("two exports of moving decks", HOST, residue_db(session.export(state), exported), -140, "dB")
    latency = in_time(bench, take, state)[1]
    # The same audio, met by a song that is the latency behind: a cycle later is the same place of the decks.
    wait = CYCLE - latency
    waiting = np.concatenate([np.zeros((4, wait)), take], axis=1)
    behind = in_time(bench, waiting, state)[0][:, wait:]
    whole = slice(0, take.shape[1] - latency - RATE // 10)
    ledger.at_most("export of moving decks, song behind by the latency", SAME,
                   residue_db(exported[:, whole], behind[:, whole]), -90, "dB")


def check_synced(bench, ledger, folder, measured):
    """A cycle of a bar, from a pilot of 20 Hz whose phase says where the moving deck is. This host counts quarter notes in
    1920 ticks, in which the decks would stumble by 1.2 µs at each block."""
    seconds = np.arange(4 * RATE) / RATE
    turns = 2 * np.pi * 20 * seconds
    pilot = 0.5 * np.stack([np.cos(turns), np.sin(turns), 0 * turns])
    session = ardour_session.Session(f"{folder}/synced", bench.vst3, pilot, RATE)
    state = formats.kept(measured.state_text, {"mode": "sweep", "motion": "cycle", "length": "bar", "range": 3.0, "blend": 100.0,
                                               "correct": False})
    exported = session.export(state)
    phase = np.arctan2(exported[1], exported[0]) / (2 * np.pi)
    offset = ((20 * seconds[: len(phase)] - phase + 0.5) % 1 - 0.5) / 20
    # One whole bar, two seconds.
    bar = slice(RATE // 2, RATE // 2 + 2 * RATE)
    late = -(np.angle(np.mean(offset[bar] * np.exp(-1j * np.pi * seconds[bar]))) + np.pi / 2) / np.pi * RATE
    latency = in_time(bench, np.zeros((4, RATE)), state)[1]
    ledger.near("a cycle of a bar: its null points are late by the latency", HOST, late, latency, 0.05, "samples")
    due = 0.003 * np.sin(np.pi * (seconds[bar] - late / RATE))
    ledger.at_most("a cycle of a bar: course against its sine", "3 ms sin πt (computed)", 1e6 * np.max(np.abs(offset[bar] - due)),
                   0.02, "µs")


def check_spot(bench, ledger, session, take, measured):
    """When the send arrives, heard in the print before anything is measured; and what it does to the measurement."""
    fresh = json.loads(measured.state_text)
    del fresh["fields"]["measurement"]
    for reach in (0.0, 2.0, 7.5):
        alone, printed = (formats.kept(json.dumps(fresh), {"reach": reach, **level}) for level in ({}, {"spot_level": 0.0}))
        latency = in_time(bench, take, alone)[1]
        heard = session.export(printed)[0] - session.export(alone)[0]
        ledger.equal(f"the send arrives late by the plugin's own latency, reach {reach:g} ms", HOST,
                     lag(heard, take[2]), latency)
    for reach in (0.0, 2.0):
        live = host.with_knobs(json.dumps(fresh), {"measure": True, "reach": reach})
        exported = session.export(live)[:, SETTLED]
        kept = in_time(bench, take, formats.kept(measured.state_text, {"reach": reach}))[0][:, SETTLED]
        # -50 dB at the top of the strokes' band, 9 kHz, is 0.003 sample.
        ledger.at_most(f"measured while exporting, the send late, reach {reach:g} ms: first against second", SAME,
                       max(residue_db(exported[channel], kept[channel]) for channel in (0, 1)), -50, "dB")


def lag(heard, played):
    """Samples by which one is later than the other."""
    size = 2 * len(played)
    likeness = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(played, size)))
    place = int(np.argmax(likeness))
    return place if place < len(played) else place - size
