"""Both formats of the built plugin, in hosts that are not ours: measures, corrects, tells its latency, keeps its state."""

import json

import dawdreamer
import numpy as np
import pedalboard

import host
from stimuli import decibels, delayed, residue_db, strokes

RATE = 48_000
HOST = "dawdreamer hosting the VST3"
PEDALBOARD = "pedalboard hosting the VST3"
BOTH = "VST3 in dawdreamer against CLAP in the project's renderer"

GAP = 23.37
SPOT_TO_FIRST = 151.0
TIMES = [0.3, 0.8, 1.3, 1.8, 2.3, 2.8]
SECONDS = 3.4

SABOTAGES = [host.SIGN, host.LATE, host.NAIVE]


def session(polarity=1.0):
    """A snare that reaches the second overhead 23.37 samples after the first."""
    random = np.random.default_rng(11)
    spot = strokes(RATE, SECONDS, TIMES, random)
    first, second = 0.5 * delayed(spot, SPOT_TO_FIRST), 0.5 * polarity * delayed(spot, SPOT_TO_FIRST + GAP)
    floor = 1e-5 * random.standard_normal((4, len(spot)))
    return np.stack([first, second, spot, spot]) + floor


def run(bench, ledger):
    take = session()
    measured = host.render_vst3(bench, take, RATE, {"Measure": "On"})
    check_measurement(ledger, measured)
    check_late_spot(bench, ledger, take, measured)
    check_correction(bench, ledger, take, measured)
    check_state(bench, ledger, take, measured)
    check_same_output(bench, ledger, take)
    check_reach_turned(bench, ledger, take)
    check_pedalboard(bench, ledger, take)
    check_mono(bench, ledger, take)


def check_measurement(ledger, measured):
    gap, spot = measured.lag("gap"), measured.lag("spot_to_first")
    ledger.near("gap of a known delay", HOST, gap["attack_s"] * RATE, GAP, 0.02, "samples")
    ledger.near("spot to first", HOST, spot["attack_s"] * RATE, SPOT_TO_FIRST, 0.05, "samples")
    ledger.equal("polarity", HOST, gap["polarity"], "same")
    ledger.equal("every stroke is heard", HOST, measured.measurement["hits"], len(TIMES))


def check_late_spot(bench, ledger, take, measured):
    """A host that brings the spot early or late does not change first against second."""
    for milliseconds in (-2, 5):
        shifted = take.copy()
        shifted[2:] = np.roll(take[2:], round(milliseconds / 1000 * RATE), axis=1)
        gap = host.render_vst3(bench, shifted, RATE, {"Measure": "On"}).lag("gap")
        ledger.near(f"gap with the spot {milliseconds:+d} ms late", HOST, gap["attack_s"] * RATE if gap else np.nan,
                    json_lag(measured, "gap") * RATE, 0.01, "samples")


def check_correction(bench, ledger, take, measured):
    """The measurement, loaded into a fresh instance, brings both channels together."""
    corrected = host.render_vst3(bench, take, RATE, state=kept(measured.state_text))
    late = corrected.latency
    later = slice(RATE // 10, -RATE // 10)
    first, second = (np.roll(channel, -late) for channel in corrected.audio)
    expected = delayed(take[0].astype(np.float32), GAP)
    ledger.at_most("first held back by the gap, against an ideal delay", "numpy, phase turned in the spectrum",
                   residue_db(first[later], expected[later]), -45, "dB")
    ledger.at_most("the second stays, latency taken out", HOST,
                   residue_db(second[later], take[1].astype(np.float32)[later]), -140, "dB")
    ledger.at_most("both as one after the correction", HOST, residue_db(second[later], first[later]), -45, "dB")


def check_state(bench, ledger, take, measured):
    again = host.render_vst3(bench, take[:, :RATE], RATE, state=kept(measured.state_text))
    for name in ("gap", "spot_to_first", "spot_to_second"):
        ledger.near(f"{name} survives a session", HOST, again.lag(name)["attack_s"] * RATE,
                    json_lag(measured, name) * RATE, 1e-9, "samples")


def json_lag(measured, name):
    """What the plugin itself wrote into its state."""
    return json.loads(measured.state["fields"]["measurement"])[name]["attack_s"]


def check_same_output(bench, ledger, take):
    """The same measurement, the same take, and knobs turned on the way."""
    measuring = host.render_vst3(bench, take, RATE, {"Measure": "On"}, block=256)
    by_clap = host.render_clap(bench, take, RATE, [(0, "measure", "On")], block=256)
    compare(ledger, "measuring and correcting on the way", measuring, by_clap)
    ledger.near("gap, VST3 against CLAP", BOTH, measuring.lag("gap")["attack_s"] * RATE,
                by_clap.lag("gap")["attack_s"] * RATE, 1e-6, "samples")
    state = kept(measuring.state_text)
    # Turned at block borders, to values that both hosts' texts and numbers give exactly.
    turns = [(256 * 100, "nudge_second", "1.25"), (256 * 200, "nudge_first", "-2.5"), (256 * 300, "output", "-6"),
             (256 * 400, "polarity", "Flipped")]
    knobs = {"nudge_second": "Nudge second", "nudge_first": "Nudge first", "output": "Output", "polarity": "Polarity"}
    numbers = {"nudge_second": (0.5, 0.625), "nudge_first": (0.5, 0.25), "output": (24 / 36, 18 / 36), "polarity": (0.0, 1.0)}
    automation = {}
    for frame, name, _ in turns:
        before, after = numbers[name]
        automation[knobs[name]] = np.where(np.arange(take.shape[1]) < frame, before, after)
    turned = host.render_vst3(bench, take, RATE, state=state, automation=automation, block=256)
    compare(ledger, "knobs turned while playing", turned,
            host.render_clap(bench, take, RATE, turns, state=state, block=256))
    held = kept(measuring.state_text, {"reach": 7.5, "anchor": "first"})
    reaching = host.render_vst3(bench, take, RATE, state=held, block=256)
    compare(ledger, "reach and another anchor", reaching,
            host.render_clap(bench, take, RATE, state=held, block=256))
    ledger.equal("latency is the kernel's and the reach", HOST, reaching.latency, measuring.latency + 360)


def check_reach_turned(bench, ledger, take):
    """Reach turned before a host that only renders offline has rendered anything: it counts from the first activation on,
    and at every moment the latency that is told is the one that is heard."""
    engine = dawdreamer.RenderEngine(RATE, 512)
    player = engine.make_playback_processor("player", take[:, :RATE].astype(np.float32))
    plugin = engine.make_plugin_processor("plugin", bench.vst3)
    place = host.parameters(plugin)["Reach"]
    plugin.set_parameter(place["index"], host.normalised(place, 7.5))
    engine.load_graph([(player, []), (plugin, ["player"])])
    for activation, expected in (("first", 392), ("second", 392)):
        engine.render(1.0)
        heard = host.disturbed(bench, host.Rendered(np.array(engine.get_audio(), dtype=float), 0, {}, "")).audio
        length = RATE - RATE // 10
        spectrum = np.fft.rfft(heard[1][:RATE], 2 * RATE) * np.conj(np.fft.rfft(take[1][:length], 2 * RATE))
        late = int(np.argmax(np.fft.irfft(spectrum)))
        ledger.equal(f"reach turned offline, {activation} activation: latency told", HOST, plugin.get_latency_samples(), expected)
        ledger.equal(f"reach turned offline, {activation} activation: latency heard", HOST, late, expected)


def compare(ledger, name, vst3, clap):
    ledger.equal(f"latency, {name}", BOTH, vst3.latency, clap.latency)
    ledger.at_most(f"output, {name}", BOTH, residue_db(vst3.audio, clap.audio), -140, "dB")


def check_pedalboard(bench, ledger, take):
    """A host that gives no spot: the pair alone passes, late by the latency that it is told."""
    plugin = pedalboard.load_plugin(bench.vst3)
    pair = take[:2, :RATE].astype(np.float32)
    audio = plugin.process(pair, RATE, reset=True)
    # This host takes the latency out by itself.
    shortest = min(audio.shape[1], pair.shape[1])
    if bench.sabotage:
        audio = host.disturbed(bench, host.Rendered(audio.copy(), 0, {}, "")).audio
    ledger.at_most("passes the pair untouched", PEDALBOARD,
                   residue_db(audio[:, :shortest], pair[:, :shortest]), -140, "dB")


def check_mono(bench, ledger, take):
    """A mono channel in a host that gives no spot: untouched, reversed, and on two decks. This host takes the latency
    out by itself; a mode counts from its next activation on."""
    mono = take[:1, :RATE].astype(np.float32)
    copy = np.concatenate([np.zeros(96), mono[0, :-96]])
    late = slice(4000, -RATE // 10)
    cases = [("passes untouched", {}, mono[0]), ("reversed", {"polarity": "Flipped"}, -mono[0]),
             ("two decks 2 ms apart", {"mode": "Sweep", "offset_ms": 2.0}, (mono[0] + copy) / 2),
             ("two decks together, one reversed", {"mode": "Sweep", "flip_moving_deck": True}, 0 * mono[0])]
    for name, knobs, expected in cases:
        plugin = pedalboard.load_plugin(bench.vst3)
        for knob, value in knobs.items():
            setattr(plugin, knob, value)
        for _ in range(2):
            audio = plugin.process(mono, RATE, reset=True)
        heard = np.concatenate([audio, audio]).astype(float)
        if bench.sabotage:
            heard = host.disturbed(bench, host.Rendered(heard, 0, {}, "")).audio
        ledger.equal(f"mono, {name}: channels", PEDALBOARD, audio.shape[0], 1)
        error = np.sqrt(np.mean((heard[1] - expected)[late] ** 2) / np.mean(mono[0][late] ** 2))
        ledger.at_most(f"mono, {name}", PEDALBOARD, decibels(error), -140, "dB")


def kept(state_text, knobs=None):
    """A session saved with Measure off, which keeps what was measured, and with other knobs."""
    return host.with_knobs(state_text, {"measure": False, **(knobs or {})})
