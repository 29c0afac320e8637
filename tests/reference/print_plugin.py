"""The tape in the built plugin: the stage's own samples in both modes, and real grooves before and after by BS.1770."""

import numpy as np
import pyloudnorm

import host
import print as stage
import recordings

OWN = "the tape stage alone, fed by this check"
LIBRARY = "BS.1770 by pyloudnorm; the strokes of recordings/README.md"
SABOTAGES = [host.SIGN, host.LATE]
# Latency of the alignment, of the tape and of the decks at 48 kHz, samples.
ALIGN, TAPE, DECKS = 32, 72, 608
HOT = {"Print": "On", "Level to tape": 12.0, "Tape speed": "19 cm/s", "Equalisation": "NAB"}
LEVELS = (-6.0, 0.0, 6.0, 12.0)
# Peak of every take before the print, dBFS.
PEAK = -6.0


def run(bench, ledger):
    check_place(bench, ledger)
    if bench.recordings is None:
        ledger.skip("grooves on tape", "there are no recordings")
    else:
        check_grooves(bench, ledger)


def check_place(bench, ledger):
    noise = 0.25 * np.random.default_rng(7).uniform(-1, 1, (2, 48_000))
    channels = np.concatenate([noise, np.zeros((2, noise.shape[1]))])
    alone = np.stack([stage.printed(bench, channel, speed=19, equalisation="NAB", level=12.0) for channel in noise])
    for name, settings, latency in (("Align", {}, ALIGN + TAPE), ("Sweep, null point", {"Mode": "Sweep"}, ALIGN + TAPE + DECKS)):
        result = host.render_vst3(bench, channels, 48_000, {**HOT, **settings})
        ledger.equal(f"{name}: latency with the print", OWN, result.latency, latency)
        length = noise.shape[1] - latency
        apart = np.max(np.abs(result.audio[:, latency:] - alone[:, :length]))
        ledger.at_most(f"{name}: largest difference from the stage alone", OWN, apart, 1e-6)
    flipped = host.render_vst3(bench, channels, 48_000, {**HOT, "Mode": "Sweep", "Flip moving deck": "On"})
    ledger.equal("Sweep, null point, flipped: samples that sound", OWN, np.count_nonzero(flipped.audio), 0)
    off = host.render_vst3(bench, channels, 48_000, {**HOT, "Print": "Off"})
    same = np.array_equal(off.audio[:, ALIGN:].astype(np.float32), noise[:, : noise.shape[1] - ALIGN].astype(np.float32))
    ledger.equal("off is the input, bit for bit", OWN, same, True)


def check_grooves(bench, ledger):
    rows = ["| pair | level to tape | loudness, LKFS | peak, dBFS | crest, dB |", "|---|---|---|---|---|"]
    for name, microphones in (("oh, side", ("oh_mic", "side_mic")), ("front, wndw", ("front_mic", "wndw_mic"))):
        pair = recordings.groove(bench.recordings / "kit", ("snare_mic", *microphones))[1:]
        pair = pair * 10 ** (PEAK / 20) / np.max(np.abs(pair))
        before = figures(pair)
        rows.append(row(name, "before", before))
        last = before
        for level in LEVELS:
            settings = {"Print": "On", "Level to tape": level}
            channels = np.concatenate([pair, np.zeros_like(pair)])
            after = figures(host.render_vst3(bench, channels, recordings.RATE, settings).audio)
            rows.append(row(name, f"{level:+.0f} dB", after))
            ledger.within(f"{name}, {level:+.0f} dB: loudness, after minus before", LIBRARY, after[0] - before[0], -3.0, 0.5, "LU")
            ledger.at_most(f"{name}, {level:+.0f} dB: crest, against the level before", LIBRARY, after[2] - last[2], 0.0, "dB")
            lost = (before[1] - after[1]) - (before[0] - after[0])
            ledger.at_least(f"{name}, {level:+.0f} dB: the peak loses more than the loudness by", LIBRARY, lost, 0.0, "dB")
            last = after
    ledger.note("Grooves of eight bars that peak at -6 dBFS, printed at 38 cm/s, IEC:\n\n" + "\n".join(rows))


def figures(pair):
    """Loudness, peak, and crest of the louder channel."""
    loud = max(pair, key=lambda channel: np.max(np.abs(channel)))
    peak = np.max(np.abs(loud))
    loudness = pyloudnorm.Meter(recordings.RATE).integrated_loudness(pair.T)
    return loudness, stage.decibels(peak), stage.decibels(peak / np.sqrt(np.mean(loud**2)))


def row(name, level, values):
    return f"| {name} | {level} | " + " | ".join(f"{value:.1f}" for value in values) + " |"
