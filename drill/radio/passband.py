"""The voice channel's filter, for transmitter and receiver: one complex band-pass.

It passes positive frequencies only. So the same filter limits the band and makes the analytic
signal, whose real part is the sound; there is no Hilbert transformer with edges of its own.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

STOP_BAND_DB = 75.0
EDGE_HZ = 100.0

Analytic = NDArray[np.complex128]


@dataclass(frozen=True, kw_only=True, slots=True)
class Passband:
    """Edges of the channel at half amplitude (-6 dB), in Hz."""

    low_hz: float
    high_hz: float


@lru_cache(maxsize=16)
def taps(band: Passband, rate_hz: int) -> Analytic:
    """Return the filter, shape (odd n,): gain 1 inside, EDGE_HZ wide skirts, STOP_BAND_DB outside.

    Raises: ValueError where the edges are not 0 < low < high < rate / 2.
    """
    from scipy.signal import firwin, kaiserord

    if not 0 < band.low_hz < band.high_hz < rate_hz / 2:
        raise ValueError(
            f"passband {band.low_hz:g} to {band.high_hz:g} Hz does not lie within 0 and "
            f"{rate_hz / 2:g} Hz"
        )
    count, beta = kaiserord(STOP_BAND_DB, EDGE_HZ / (rate_hz / 2))
    count |= 1  # an odd length has its delay on a whole sample
    half_width = (band.high_hz - band.low_hz) / 2
    low_pass = firwin(count, half_width, window=("kaiser", beta), fs=rate_hz)
    centre = (band.high_hz + band.low_hz) / 2
    time = (np.arange(count) - count // 2) / rate_hz
    result = low_pass * np.exp(2j * np.pi * centre * time)
    result.flags.writeable = False
    return np.asarray(result)


def limit(signal: NDArray[np.inexact], band: Passband, rate_hz: int) -> Analytic:
    """Return the signal, shape (n,), inside the passband, same length, delay removed.

    A complex signal stays what it is inside the band. A real one comes back as its analytic signal
    at half amplitude (the positive half of its spectrum).
    """
    from scipy.signal import oaconvolve

    return np.asarray(oaconvolve(signal, taps(band, rate_hz), mode="same"), dtype=np.complex128)


def noise_bandwidth_hz(band: Passband, rate_hz: int) -> float:
    """Return the equivalent noise bandwidth: width of a box of gain 1 that passes as much noise."""
    return float(np.sum(np.abs(taps(band, rate_hz)) ** 2) * rate_hz)
