"""The short fading of a station's path as a gain in dB, equal to the fading of its sound.

A path fades in the same way in both directions: when the trainee hears a station get stronger, the
station hears the trainee better too.
"""

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.conditions import Fading
from drill.core.indexed_random import IndexedRandom
from drill.radio import SPLATTER_RATE_HZ
from drill.radio.band_station import FADING_USE
from drill.radio.fading import WattersonFading
from drill.radio.filters import ComplexArray


class PathFading:
    """Fading of one path over time in samples of SPLATTER_RATE_HZ, as BandStation applies it.

    path_seed: of the path, as for drill.radio.band_station.BandStation.
    """

    def __init__(self, fading: Fading, path_seed: int) -> None:
        """Start at time 0."""
        self._conditions, self._path_seed = fading, path_seed
        self._known: dict[tuple[int, int], float] = {}
        self._restart()

    def _restart(self) -> None:
        rng = IndexedRandom(self._path_seed, FADING_USE)
        self._fading = WattersonFading(self._conditions, rng, rate_hz=SPLATTER_RATE_HZ)
        self._position = 0

    def gain_db(self, start: int, stop: int) -> float:
        """Return the mean power gain in dB between two times, over the width of a voice.

        It is measured with noise in place of the voice; 0 dB is the ensemble mean.
        """
        start = max(0, start)
        key = start, max(start + 1, stop)
        if key not in self._known:
            self._known[key] = self._measured_db(*key)
        return self._known[key]

    def _measured_db(self, start: int, stop: int) -> float:
        if start < self._position:
            self._restart()
        fading, count = self._fading, stop - start
        fading.skip(start - self._position)
        self._position = stop
        sent = _noise(fading.before + count + fading.after)
        received = fading.fade(sent, count)
        before = _power(sent[fading.before : fading.before + count])
        return float(10 * np.log10(max(_power(received), 1e-9) / before))


def _noise(count: int) -> ComplexArray:
    """Return noise in 3 kHz, shape (count,), the same for every call."""
    rng = np.random.default_rng(0)
    width = max(1, SPLATTER_RATE_HZ // 3000)
    white = rng.standard_normal(count + width) + 1j * rng.standard_normal(count + width)
    return np.convolve(white, np.ones(width) / width)[width : width + count].astype(np.complex64)


def _power(signal: ComplexArray | FloatArray) -> float:
    return float(np.mean(np.abs(signal) ** 2))
