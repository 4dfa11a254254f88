"""Measurements on the linear channel for the tests of its sources."""

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Conditions
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ, BASEBAND_RATE_HZ
from drill.radio.channel import Channel, neighbour_emissions


def without_wanted_station(
    conditions: Conditions, seconds: float, *neighbours: Clip
) -> NDArray[np.float64]:
    """Return the output of the receiver's filter while the wanted station is silent."""
    emissions = neighbour_emissions(conditions, neighbours)
    channel = Channel(conditions, 1, emissions, linear=True)
    silence = np.zeros(round(seconds * BASEBAND_RATE_HZ), np.complex64)
    return np.concatenate([channel.process(silence), channel.finish()]).astype(np.float64)


def strongest_hz(audio: NDArray[np.float64]) -> float:
    """Return the frequency of the highest line in the spectrum."""
    spectrum = np.abs(np.fft.rfft(audio * np.hanning(len(audio))))
    return float(np.argmax(spectrum)) * AUDIO_RATE_HZ / len(audio)
