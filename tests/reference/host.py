"""The built plugin in general-purpose hosts: the VST3 in dawdreamer, the CLAP through the project's own renderer."""

import json
import os
import re
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import dawdreamer
import numpy as np

# What the self-test of the checks does to the plugin's answers; None in an honest run.
SIGN = "wrong sign"
LATE = "one sample off"
NAIVE = "naive interpolation"
UNSTEADY = "unsteady clock"
LOUD = "a fifth of a decibel too loud"

# The alphabet in which JUCE writes binary data, lowest bit first (juce_MemoryBlock.cpp).
JUCE_ALPHABET = ".ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+"

# The plugin's class, and the header of a .vstpreset: magic, version, class, place of the list.
CLASS_ID = b"PlumblineOverhds"
HEADER_LENGTH = 4 + 4 + 32 + 8


@dataclass
class Bench:
    """Where the built things are, and how the boundary is disturbed."""

    vst3: str
    clap: str
    clap_renderer: str
    meters: str
    xtask: str
    recordings: Path | None
    full: bool = False
    sabotage: str | None = None


@dataclass
class Rendered:
    audio: np.ndarray
    latency: int
    state: dict
    # As the plugin saved it.
    state_text: str
    measurement: dict = field(default_factory=dict)

    def lag(self, name):
        """Attack, body, spread, polarity and confidence of a lag, or None."""
        return self.measurement.get(name)


def render_vst3(bench, channels, sample_rate, settings=None, automation=None, state=None, block=512):
    """Renders main left, right and spot left, right. Settings are texts by the names that the host shows; automation is
    one normalised value a sample, taken over at the start of each block."""
    engine = dawdreamer.RenderEngine(sample_rate, block)
    channels = np.asarray(channels, dtype=np.float32)
    player = engine.make_playback_processor("player", channels)
    plugin = engine.make_plugin_processor("plugin", bench.vst3)
    with tempfile.TemporaryDirectory() as folder:
        if state is not None:
            file = Path(folder, "in.vstpreset")
            file.write_bytes(preset(state))
            if not plugin.load_vst3_preset(str(file)):
                raise RuntimeError("the host refuses the state")
        places = parameters(plugin)
        for name, value in (settings or {}).items():
            plugin.set_parameter(places[name]["index"], normalised(places[name], value))
        engine.load_graph([(player, []), (plugin, ["player"])])
        for name, values in (automation or {}).items():
            plugin.set_automation(places[name]["index"], np.asarray(values, dtype=np.float32))
        engine.render(channels.shape[1] / sample_rate)
        audio = np.array(engine.get_audio(), dtype=np.float64)[:, : channels.shape[1]]
        file = Path(folder, "out")
        plugin.save_state(str(file))
        text = unpack_state(file.read_bytes())
    return disturbed(bench, rendered(audio, plugin.get_latency_samples(), text))


def render_clap(bench, channels, sample_rate, points=(), state=None, block=512, playing=False):
    """The same through the CLAP. Points are (frame, id, text)."""
    with tempfile.TemporaryDirectory() as folder:
        source, target, job = (Path(folder, name) for name in ("in", "out", "job"))
        np.asarray(channels, dtype="<f4").tofile(source)
        job.write_text(json.dumps({
            "clap": bench.clap, "sample_rate": sample_rate, "max_block": block, "input": str(source),
            "output": str(target), "state": state, "playing": playing,
            "points": [{"frame": frame, "id": name, "text": text} for frame, name, text in points],
        }))
        run = subprocess.run([bench.clap_renderer, str(job)], capture_output=True, text=True)
        if run.returncode:
            raise RuntimeError(run.stderr)
        answer = json.loads(run.stdout.splitlines()[-1])
        audio = np.fromfile(target, dtype="<f4").reshape(2, -1).astype(np.float64)
    return rendered(audio, answer["latency"], answer["state"])


def align(bench, *arguments):
    """The command on files, its JSON answer."""
    run = subprocess.run([bench.xtask, "align", *map(str, arguments), "--json"], capture_output=True, text=True)
    if run.returncode:
        raise RuntimeError(run.stderr)
    answer = json.loads(run.stdout)
    if bench.sabotage == SIGN:
        answer["gap_cm"] = -answer["gap_cm"]
        answer["attack_gap_samples"] = -answer["attack_gap_samples"]
    if bench.sabotage == LATE:
        answer["gap_seconds"] += 1.0 / answer["sample_rate"]
        answer["attack_gap_samples"] += 1.0
    return answer


def rendered(audio, latency, text):
    state = json.loads(text)
    measurement = json.loads(state["fields"]["measurement"])
    return Rendered(audio, latency, state, text, measurement)


def parameters(plugin):
    return {entry["name"]: entry for entry in plugin.get_parameters_description()}


def normalised(place, value):
    """From a number in the parameter's unit, or the name of a choice, to 0..1."""
    if isinstance(value, str):
        choices = CHOICES[place["name"]]
        return choices.index(value) / (len(choices) - 1)
    low, high = float(place["min"]), float(place["max"])
    return (value - low) / (high - low)


CHOICES = {
    "Mode": ["Align", "Sweep"],
    "Bypass": ["Off", "On"],
    "Monitor": ["Stereo", "Mono", "Difference", "Spot"],
    "Measure": ["Off", "On"],
    "Correct": ["Off", "On"],
    "Anchor": ["Later", "First", "Second", "Spot"],
    "Match": ["Attack", "Body", "Kit"],
    "Drum": ["Auto", "Snare", "Kick", "Tom", "Picked"],
    "Polarity": ["As measured", "As recorded", "Flipped"],
    "Print": ["Off", "On"],
    "Tape speed": ["19 cm/s", "38 cm/s", "76 cm/s"],
    "Equalisation": ["IEC", "NAB"],
    "Flip moving deck": ["Off", "On"],
}


def disturbed(bench, result):
    """What a faulty plugin would have answered."""
    second = result.audio[1]
    if bench.sabotage == SIGN:
        result.audio[1] = -second
        disturb_lags(result, lambda lag: {**lag, "attack_s": -lag["attack_s"], "body_s": -lag["body_s"]})
    elif bench.sabotage == LATE:
        result.audio[1] = np.concatenate([[0.0], second[:-1]])
        rate = 48_000.0
        disturb_lags(result, lambda lag: {**lag, "attack_s": lag["attack_s"] + 1 / rate, "body_s": lag["body_s"] + 1 / rate})
    elif bench.sabotage == NAIVE:
        # Half a sample later and half a sample earlier again, by straight lines.
        result.audio[1] = np.convolve(second, [0.25, 0.5, 0.25])[1:-1]
        # A reading without interpolation: whole samples.
        rate = 48_000.0
        whole = lambda seconds: round(seconds * rate) / rate
        disturb_lags(result, lambda lag: {**lag, "attack_s": whole(lag["attack_s"]), "body_s": whole(lag["body_s"])})
    elif bench.sabotage == LOUD:
        result.audio *= 10 ** (0.2 / 20)
    elif bench.sabotage == UNSTEADY:
        # 0.05 % of speed, four times a second at 48 kHz.
        place = np.arange(len(second))
        swing = 0.0005 / (2 * np.pi * 4 / 48_000) * np.sin(2 * np.pi * 4 / 48_000 * place)
        result.audio[1] = np.interp(place + swing, place, second)
    return result


def disturb_lags(result, change):
    for name in ("gap", "spot_to_first", "spot_to_second"):
        if result.measurement.get(name):
            result.measurement[name] = change(result.measurement[name])


def with_knobs(state_text, knobs):
    """The same session with some knobs turned: numbers, switches, or the ids of choices."""
    state = json.loads(state_text)
    kinds = {bool: "bool", float: "f32", str: "string"}
    state["params"].update({name: {kinds[type(value)]: value} for name, value in knobs.items()})
    return json.dumps(state)


def knob(state, name):
    """A number as the plugin holds it: 32 bits, of which the state has the shortest decimal."""
    return float(np.float32(state["params"][name]["f32"]))


def unpack_state(blob):
    """The plugin's own state out of the one that JUCE saves around it."""
    coded = re.search(rb"<IComponent>(.*?)</IComponent>", blob).group(1).decode()
    length, digits = coded.split(".", 1)
    bits = np.array([[JUCE_ALPHABET.index(digit) >> bit & 1 for bit in range(6)] for digit in digits], dtype=np.uint8)
    data = np.packbits(bits.ravel()[: int(length) * 8], bitorder="little").tobytes()
    return data[data.index(b"{"):].decode()


def preset(text):
    """A state of the plugin as a .vstpreset: header, component state, list of chunks (VST 3 SDK, vstpresetfile.h). Loading
    it needs no window, unlike this host's own states."""
    data = text.encode()
    entry = b"Comp" + HEADER_LENGTH.to_bytes(8, "little") + len(data).to_bytes(8, "little")
    chunks = b"List" + (1).to_bytes(4, "little") + entry
    end = (HEADER_LENGTH + len(data)).to_bytes(8, "little")
    return b"VST3" + (1).to_bytes(4, "little") + CLASS_ID.hex().upper().encode() + end + data + chunks
