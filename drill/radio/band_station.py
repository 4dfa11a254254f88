"""One station of a band as received: its overs at their times, its fading, its level."""

from collections.abc import Callable

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.conditions import Fading
from drill.core.indexed_random import IndexedRandom
from drill.radio import SPLATTER_RATE_HZ
from drill.radio.fading import WattersonFading
from drill.radio.filters import ComplexArray

FADING_USE = 1
"""Distinguishes the random numbers of the fading from others of the same seed."""
LevelOverTime = Callable[[FloatArray], FloatArray]
"""Level in dB as a function of time in seconds since the start of the band, array to array."""


class BandStation:
    """A station on its carrier. Times are samples at SPLATTER_RATE_HZ since the start of the band.

    carrier_hz: above the lower edge of the band. path_seed: determines the fading, which is a
    function of time, whether the station is heard or not. level_db: SNR in 3 kHz of an emission
    with an active speech level of 0 dB, before fading; computed once a second.
    """

    def __init__(
        self, carrier_hz: float, fading: Fading, path_seed: int, level_db: LevelOverTime
    ) -> None:
        """Start silent."""
        self.carrier_hz = carrier_hz
        self._fading = WattersonFading(
            fading, IndexedRandom(path_seed, FADING_USE), rate_hz=SPLATTER_RATE_HZ
        )
        self._faded_until = 0
        self._level_db = level_db
        self._overs: list[tuple[int, ComplexArray]] = []
        self._knots_from = -1
        self._knots = np.zeros(0)

    def send(self, start: int, signal: ComplexArray) -> None:
        """Transmit a signal, complex64 at SPLATTER_RATE_HZ, starting at a time."""
        self._overs.append((start, signal))

    def break_off(self, at: int) -> None:
        """End the current transmission."""
        self._overs = [
            (start, signal[: max(0, at - start)]) for start, signal in self._overs if start < at
        ]

    def is_busy(self, at: int) -> bool:
        """Return True if it transmits at a time or later, or if its last echo is still heard."""
        return any(start + len(signal) > at - self._fading.before for start, signal in self._overs)

    def take(self, start: int, count: int) -> ComplexArray | None:
        """Return the received signal from a time on, shape (count,), or None if there is none.

        Times must not decrease. Later transmissions must not begin before start + count +
        WattersonFading.after.

        Raises: ValueError for a time before an earlier one.
        """
        fading = self._fading
        if start < self._faded_until:
            raise ValueError(f"sample {start} lies before {self._faded_until}, the last one read")
        first, stop = start - fading.before, start + count + fading.after
        self._overs = [over for over in self._overs if over[0] + len(over[1]) > first]
        heard = [over for over in self._overs if over[0] < stop]
        if not heard:
            return None
        known = np.zeros(stop - first, np.complex64)
        for begin, signal in heard:
            low, high = max(first, begin), min(stop, begin + len(signal))
            known[low - first : high - first] += signal[low - begin : high - begin]
        fading.skip(start - self._faded_until)
        self._faded_until = start + count
        return fading.fade(known, count) * self._gain(start, count)

    def _gain(self, start: int, count: int) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
        """Return the gain in amplitude, linear between whole seconds."""
        first_s = start // SPLATTER_RATE_HZ
        seconds = (start + count) // SPLATTER_RATE_HZ + 2 - first_s
        if self._knots_from != first_s or len(self._knots) < seconds:
            knots_s = np.arange(first_s, first_s + seconds, dtype=np.float64)
            self._knots_from, self._knots = first_s, 10 ** (self._level_db(knots_s) / 20)
        at = np.arange(
            start - first_s * SPLATTER_RATE_HZ, count + start - first_s * SPLATTER_RATE_HZ
        )
        knots_at = SPLATTER_RATE_HZ * np.arange(len(self._knots))
        return np.interp(at, knots_at, self._knots).astype(np.float32)
