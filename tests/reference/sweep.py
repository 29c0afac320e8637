"""Both decks of the hosted plugin against a signal whose delayed copy is known in closed form, and against each other."""

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.signal import freqz, hilbert

import host
from formats import BOTH, compare
from stimuli import decibels, residue_db

RATE = 48_000
CLOSED = "tones and a chirp written down at the moved time: x(t - d(t)) (numpy)"
SUM = "|cos πfd| and |sin πfd|: half the sum and half the difference of two equal decks (computed)"
COMB = "nulls at (2k + 1) / 2d; Everest & Pohlmann, Master Handbook of Acoustics, ch. 10; spectrum by scipy"
SIDES = "|H| is even in d (computed)"
DOPPLER = "f (1 - dd/dt) (computed)"
SABOTAGES = [host.SIGN, host.LATE, host.NAIVE, host.UNSTEADY]

TONES = [(93.0, 0.08), (440.0, 0.1), (1000.0, 0.1), (3150.0, 0.08), (7777.0, 0.05), (12_500.0, 0.03), (17_000.0, 0.02)]


def run(bench, ledger):
    plain = host.render_vst3(bench, silence(0.1), RATE).state_text
    check_null_point(bench, ledger, plain)
    check_fixed_offset(bench, ledger, plain)
    check_comb(bench, ledger, plain)
    check_moving(bench, ledger, plain)
    check_doppler(bench, ledger, plain)
    check_drawn(bench, ledger, plain)
    check_bounces(bench, ledger, plain)
    check_formats(bench, ledger, plain)


def silence(seconds):
    return np.zeros((4, int(seconds * RATE)))


def stereo(signal):
    return np.stack([signal, signal, 0 * signal, 0 * signal])


def decks(bench, plain, signal, knobs, block=512, rate=RATE):
    """Sweep with these knobs from the first sample on. The state holds them, so that none glides there."""
    state = host.with_knobs(plain, {"mode": "sweep", **knobs})
    return host.render_vst3(bench, stereo(signal), rate, state=state, block=block)


def tones(seconds):
    """Seven tones at these times, seconds; nothing before 0."""
    total = sum(level * np.sin(2 * np.pi * hertz * seconds + hertz) for hertz, level in TONES)
    return np.where(seconds < 0, 0.0, total)


def chirp(seconds, length):
    """20 Hz to 18 kHz over the length, exponentially."""
    octaves = np.log(18_000 / 20)
    phase = 2 * np.pi * 20 * length / octaves * (np.exp(np.maximum(seconds, 0) / length * octaves) - 1)
    return np.where(seconds < 0, 0.0, 0.3 * np.sin(phase))


def clock(seconds):
    return np.arange(int(seconds * RATE)) / RATE


def check_null_point(bench, ledger, plain):
    signal = tones(clock(1.5)).astype(np.float32).astype(float)
    added = decks(bench, plain, signal, {"offset": 0.0})
    late = added.latency
    ledger.equal("latency: kernel, and 12 ms for the lead", "the manual's promise", late, 640)
    for channel in (0, 1):
        ledger.at_most(f"null point: sum against the input, channel {channel + 1}", SUM,
                       residue_db(added.audio[channel, late:], signal[:-late]), -140, "dB")
    flipped = decks(bench, plain, signal, {"offset": 0.0, "flip": True})
    level = np.sqrt(np.mean(flipped.audio[:, late + 4800 :] ** 2) / np.mean(signal**2))
    ledger.at_most("null point: difference", SUM, decibels(level), -140, "dB")


def check_fixed_offset(bench, ledger, plain):
    """Closed-form levels of sum and difference at fixed offsets."""
    for micros, hertz, flip in ((10, 1000, True), (10, 10_000, True), (100, 1000, True), (-100, 1000, True),
                                (1000, 500, False), (1000, 1250, False), (-1000, 1250, False), (5000, 1010, False)):
        signal = 0.25 * np.sin(2 * np.pi * hertz * clock(1.5))
        result = decks(bench, plain, signal, {"offset": micros / 1000, "flip": flip})
        turn = np.pi * hertz * host.knob(result.state, "offset") / 1000
        expected = decibels(max(abs(np.sin(turn) if flip else np.cos(turn)), 1e-4))
        for channel in (0, 1):
            measured = max(amplitude(result.audio[channel], hertz) / 0.25, 1e-4)
            name = f"{'difference' if flip else 'sum'} at {micros:+d} µs, {hertz} Hz, channel {channel + 1}"
            ledger.near(name, SUM, decibels(measured), expected, 0.05, "dB")


def amplitude(signal, hertz):
    part = signal[RATE // 2 : RATE // 2 + RATE // 2]
    return 2 * abs(np.mean(part * np.exp(-2j * np.pi * hertz * np.arange(len(part)) / RATE)))


# Where a kernel has least room under the end of the band, and no offset of the table is a whole sample.
COMB_RATE = 44_100


def check_comb(bench, ledger, plain):
    """The answer to an impulse at fixed offsets on both sides: where the nulls lie, the whole curve, and that both sides
    are one comb."""
    impulse = np.zeros(COMB_RATE)
    struck = COMB_RATE // 4
    impulse[struck] = 0.5
    hertz = np.geomspace(20, 20_000, 4096)
    for milliseconds in (0.05, 0.5, 1.0, 5.0, 12.0):
        sides = [decks(bench, plain, impulse, {"offset": side * milliseconds}, rate=COMB_RATE) for side in (1, -1)]
        offset = host.knob(sides[0].state, "offset") / 1000
        expected = np.abs(np.cos(np.pi * hertz * offset))
        # Where the comb leaves at least -40 dB; nearer to a null a difference in dB says nothing.
        loud = expected > 0.01
        due = (np.arange(int(20_000 * offset + 0.5)) + 0.5) / offset
        picked = due[np.unique(np.linspace(0, len(due) - 1, 40 if bench.full else 6).astype(int))]
        for channel in (0, 1):
            name = f"{milliseconds:g} ms, channel {channel + 1}"
            answers = [side.audio[channel][struck : struck + 2 * side.latency + 200] for side in sides]
            late, early = (gains(answer, hertz) for answer in answers)
            ledger.at_most(f"comb at {name}: whole curve", SUM, np.max(np.abs(late - expected)), 1e-5)
            apart = np.max(np.abs(decibels(late[loud] / early[loud])))
            ledger.at_most(f"comb at ±{name}: both sides alike", SIDES, apart, 0.001, "dB")
            off = [abs(null_near(answer, null, offset) / null - 1) for answer in answers for null in picked]
            ledger.at_most(f"comb at ±{name}: {len(picked)} of {len(due)} nulls, worst place", COMB, 100 * max(off), 0.1, "%")


def gains(answer, hertz):
    """Of an answer to an impulse of one half."""
    return np.abs(freqz(answer, worN=hertz, fs=COMB_RATE)[1]) / 0.5


def null_near(answer, hertz, offset):
    """The lowest place of the spectrum within a quarter of the comb's spacing, Hz."""
    level = lambda place: gains(answer, np.array([place]))[0]
    return minimize_scalar(level, bounds=(hertz - 0.25 / offset, hertz + 0.25 / offset), method="bounded",
                           options={"xatol": 1e-6 * hertz}).x


def check_moving(bench, ledger, plain):
    """The moving deck alone, going to and fro around the fixed one: up to 3 ms, up to 3 % of speed."""
    cases = [("sine", 3.0, 0.5), ("sine", 1.0, 3.0), ("triangle", 2.5, 1.0)]
    for curve, range_ms, hertz in cases if bench.full else cases[:2]:
        for name, wave in (("seven tones", tones), ("chirp", lambda seconds: chirp(seconds, 4.0))):
            signal = wave(clock(4.0)).astype(np.float32).astype(float)
            result = decks(bench, plain, signal, {"motion": "cycle", "sync": False, "rate": hertz, "range": range_ms,
                                                  "curve": curve, "blend": 100.0})
            held = {name: host.knob(result.state, name) for name in ("rate", "range")}
            # Times of the audio that comes out, as the fixed deck plays it.
            seconds = clock(4.0) - result.latency / RATE
            offset = held["range"] / 1000 * travel(curve, held["rate"] * seconds)
            part = slice(RATE // 2, -RATE // 4)
            for channel in (0, 1):
                error = residue_db(result.audio[channel][part], wave(seconds - offset)[part])
                ledger.at_most(f"moving deck, {curve} of {range_ms:g} ms at {hertz:g} Hz, {name}, channel {channel + 1}", CLOSED,
                               error, -110, "dB")


def travel(curve, turns):
    if curve == "sine":
        return np.sin(2 * np.pi * turns)
    return 2 / np.pi * np.arcsin(np.sin(2 * np.pi * turns))


def check_doppler(bench, ledger, plain):
    """A constant speed, 1 % slow and fast: 1 kHz becomes 990 and 1010 Hz."""
    signal = 0.25 * np.sin(2 * np.pi * 1000 * clock(4.0))
    result = decks(bench, plain, signal, {"motion": "cycle", "sync": False, "rate": 0.25, "range": 10.0, "curve": "triangle",
                                          "blend": 100.0})
    # From -0.25 to 0.25 of a cycle of 4 s the offset rises 20 ms in 2 s; then it falls.
    for name, begin, expected in (("rising", 0.1, 990.0), ("falling", 1.5, 1010.0)):
        for channel in (0, 1):
            start = int(begin * RATE) + result.latency
            part = result.audio[channel][start : start + RATE // 2]
            ledger.near(f"1 kHz while the offset is {name}, channel {channel + 1}", DOPPLER, frequency(part), expected, 0.01, "Hz")


def frequency(signal):
    """Of a single tone: the slope of its phase, by the analytic signal."""
    phase = np.unwrap(np.angle(hilbert(signal)))[2000:-2000]
    return np.polyfit(np.arange(len(phase)), phase, 1)[0] * RATE / (2 * np.pi)


def check_drawn(bench, ledger, plain):
    """An offset drawn by hand acts on the audio it is drawn at, sample by sample, and between the points of a coarse host."""
    seconds = clock(1.5)
    signal = tones(seconds).astype(np.float32).astype(float)
    drawn_ms = np.interp(seconds, [0.3, 1.2], [-1.0, 1.0])
    state = host.with_knobs(plain, {"mode": "sweep", "blend": 100.0})
    for block in (1, 512):
        result = host.render_vst3(bench, stereo(signal), RATE, state=state, automation={"Offset": (drawn_ms + 12) / 24}, block=block)
        song = seconds - result.latency / RATE
        expected = tones(song - np.interp(song, seconds, drawn_ms) / 1000)
        part = slice(RATE // 2, RATE)
        for channel in (0, 1):
            ledger.at_most(f"offset drawn from -1 to 1 ms, one point in {block} samples, channel {channel + 1}", CLOSED,
                           residue_db(result.audio[channel][part], expected[part]), {1: -110, 512: -90}[block], "dB")


KNOBS = {"motion": "cycle", "sync": True, "length": "bar", "range": 2.0, "curve": "reel", "wow": 0.1, "flutter": 0.05}


def check_bounces(bench, ledger, plain):
    """Two bounces are one: whatever the block."""
    signal = tones(clock(3.0))
    first = decks(bench, plain, signal, KNOBS, block=64)
    for block in (1024, 500):
        again = decks(bench, plain, signal, KNOBS, block=block)
        ledger.at_most(f"bounce in blocks of {block} against 64", "the manual's promise", residue_db(again.audio, first.audio), -140, "dB")


def check_formats(bench, ledger, plain):
    """The same song in both formats, with the offset drawn by hand at block borders."""
    signal = tones(clock(3.0))
    state = host.with_knobs(plain, {"mode": "sweep", **KNOBS})
    vst3 = host.render_vst3(bench, stereo(signal), RATE, state=state, block=256)
    compare(ledger, "Sweep, one cycle a bar with wow", vst3,
            host.render_clap(bench, stereo(signal), RATE, state=state, block=256, playing=True))
    state = host.with_knobs(plain, {"mode": "sweep", "flip": True})
    turns = [(256 * 150, "offset", "3"), (256 * 300, "offset", "-6"), (256 * 400, "blend", "75")]
    frames = np.arange(len(signal))
    drawn = {"Offset": np.select([frames < 256 * 150, frames < 256 * 300], [0.5, 0.625], 0.25),
             "Blend": np.where(frames < 256 * 400, 0.5, 0.75)}
    vst3 = host.render_vst3(bench, stereo(signal), RATE, state=state, automation=drawn, block=256)
    compare(ledger, "Sweep, offset and blend drawn by hand", vst3,
            host.render_clap(bench, stereo(signal), RATE, turns, state=state, block=256, playing=True))
