"""A session of Ardour 7.3 without a window: made by its own scripts, the plugin's state put in, exported."""

import base64
import os
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
from scipy.io import wavfile

import host

PROGRAMS = ("ardour7-lua", "ardour7-export")
SCANNER = Path("/usr/lib/ardour7/ardour-vst3-scanner")
SCRIPTS = Path(__file__).with_name("ardour")
# The host's own unit of time, a second.
CLOCK = 282_240_000
# Its export sometimes dies while it takes the session down or before it begins, with a plugin of its own too.
TRIES = 8


def missing():
    """What is not installed, or nothing."""
    return [name for name in PROGRAMS if not shutil.which(name)] + ([] if SCANNER.exists() else [str(SCANNER)])


class Session:
    """First, second and snare on three tracks; the plugin on a bus, the snare sent to its side chain."""

    def __init__(self, folder, vst3, channels, rate):
        self.home, self.folder, self.rate = Path(folder, "home"), Path(folder, "take"), rate
        self.deaths = 0
        self.install(Path(vst3))
        self.script("build.lua")
        self.put_sources(channels)
        self.script("lay.lua")

    def environment(self):
        """Nothing of the user's own set-up is read or written."""
        return {**os.environ, "HOME": str(self.home), "XDG_CONFIG_HOME": str(self.home / "config"),
                "XDG_CACHE_HOME": str(self.home / "cache"), "LD_LIBRARY_PATH": "/usr/lib/ardour7"}

    def install(self, vst3):
        """The host trusts what its scanner has seen, if that is newer than the plugin by a whole second."""
        own = self.home / ".vst3" / vst3.name
        shutil.copytree(vst3, own)
        for file in own.rglob("*"):
            os.utime(file, (1_700_000_000, 1_700_000_000))
        subprocess.run([SCANNER, "-v", own], env=self.environment(), capture_output=True, timeout=120, check=True)

    def script(self, name):
        """Runs one of the host's own scripts over the session."""
        text = (SCRIPTS / name).read_text().replace("@FOLDER@", str(self.folder)).replace("@RATE@", str(self.rate))
        script = self.home / name
        script.write_text(text)
        run = subprocess.run(["ardour7-lua", script], env=self.environment(), capture_output=True, text=True, timeout=120)
        if run.returncode or not self.file().exists():
            raise RuntimeError(run.stdout + run.stderr)

    def file(self):
        return self.folder / "take.ardour"

    def put_sources(self, channels):
        names = ("first", "second", "snare")
        for name, channel in zip(names, channels):
            wavfile.write(self.folder / f"interchange/take/audiofiles/{name}.wav", self.rate, channel.astype(np.float32))
        sources = "".join(f'<Source name="{name}.wav" type="audio" flags="" id="{9000 + place}" channel="0" origin="" gain="1"/>'
                          for place, name in enumerate(names))
        end = channels.shape[1] * CLOCK // self.rate
        whole = f'<Location id="9200" name="session" start="a0" end="a{end}" flags="IsSessionRange" locked="0" timestamp="0" cue="0"/>'
        text = self.file().read_text()
        text = text.replace("<Sources/>", f"<Sources>{sources}</Sources>").replace("<Locations/>", f"<Locations>{whole}</Locations>")
        self.file().write_text(text)

    def export(self, state):
        """What the master bus gives with the plugin in this state, as the host writes it: its latency taken out."""
        chunk = base64.b64encode(host.preset(state)).decode()
        self.file().write_text(re.sub(r"<chunk>.*?</chunk>", f"<chunk>{chunk}</chunk>", self.file().read_text()))
        target = self.home / "out.wav"
        for _ in range(TRIES):
            target.unlink(missing_ok=True)
            run = subprocess.run(["ardour7-export", "-b", "float", "-o", target, self.folder, "take"],
                                 env=self.environment(), capture_output=True, text=True, timeout=120)
            if run.returncode == 0 and target.exists():
                return read_float(target)
            self.deaths += 1
        raise RuntimeError(f"{TRIES} exports died: {run.stdout} {run.stderr}")


def read_float(path):
    """A float WAV with chunks of the host's own."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", wavfile.WavFileWarning)
        return wavfile.read(path)[1].T.astype(np.float64)
