"""Loudness of what the plugin sends: BS.1770 by a library, on a tone, and before against after."""

import numpy as np
import pyloudnorm

import host
from formats import RATE, kept, session

TONE = "ITU-R BS.1770-4: 997 Hz at 0 dBFS in one channel reads -3.01 LKFS; tolerance of EBU Tech 3341"
LIBRARY = "BS.1770 by pyloudnorm"
SABOTAGES = [host.LOUD]


def run(bench, ledger):
    meter = pyloudnorm.Meter(RATE)
    tone = np.sin(2 * np.pi * 997 * np.arange(20 * RATE) / RATE)
    silent = 0 * tone
    # 20 dB below full scale goes in: a host may refuse more than full scale. 20 dB of gain are added to the reading.
    passed = host.render_vst3(bench, np.stack([silent, 0.1 * tone, silent, silent]), RATE)
    ledger.near("997 Hz through the plugin", TONE, meter.integrated_loudness(passed.audio.T) + 20, -3.01, 0.1, "LKFS")
    take = session()
    state = host.render_vst3(bench, take, RATE, {"Measure": "On"}).state_text
    correct = lambda on: host.render_vst3(bench, take, RATE, state=kept(state, {"correct": on})).audio
    before, after = (meter.integrated_loudness(correct(on).T) for on in (False, True))
    ledger.near("Correct off and on are as loud as each other", LIBRARY, after - before, 0.0, 0.05, "LU")
    output = host.render_vst3(bench, take, RATE, {"Output": -6.0}).audio
    ledger.near("Output at -6 dB", LIBRARY, meter.integrated_loudness(output.T) - before, -6.0, 0.05, "LU")
