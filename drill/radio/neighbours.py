"""One station's emission as it lies in the slice that the receiver looks at.

For the wanted station and for its neighbours alike. A neighbour's voice comes out shifted by its
offset; one that uses the other sideband comes out inverted; what an over-driven one makes beside
its band falls into ours.
"""

import numpy as np

from drill.radio import CENTRE_HZ, CORE_RATE_HZ
from drill.radio.filters import TUNING_STEP_HZ, BandFilter, Complex, Passband, whole
from drill.radio.transmitter import Emission

SLICE = Passband(low_hz=-350.0, high_hz=3350.0)
"""What of the slice is free of its own images; no receiver's filter reaches farther."""
GAP_S = (1.0, 4.0)
"""A neighbour listens so long between its overs."""


def tuned(
    emission: Emission, offset_hz: float, *, inverted: bool = False, level_db: float = 0.0
) -> Complex:
    """Return an emission, shape (n,), at CORE_RATE_HZ as a receiver offset_hz below it has it.

    inverted: it uses the other sideband. level_db: added to its power.
    """
    coarse = round(offset_hz / TUNING_STEP_HZ) * TUNING_STEP_HZ
    signal = emission.samples
    if emission.rate_hz != CORE_RATE_HZ or coarse or inverted:
        tuner = BandFilter(
            SLICE,
            rate_in=emission.rate_hz,
            rate_out=CORE_RATE_HZ,
            centre_in=-CENTRE_HZ if inverted else CENTRE_HZ,
            centre_out=CENTRE_HZ,
            shift_hz=coarse,
        )
        signal = whole(tuner, signal.conj() if inverted else signal)
    fine = offset_hz - coarse
    if fine:
        turns = fine / CORE_RATE_HZ * np.arange(len(signal)) % 1.0
        signal = signal * np.exp(2j * np.pi * turns).astype(np.complex64)
    return signal * np.float32(10 ** (level_db / 20)) if level_db else signal


class Talker:
    """A neighbour at work: says its over, listens for a while, says it again."""

    def __init__(self, over: Complex, rng: np.random.Generator) -> None:
        """Draw where in its over it is, and how long it listens; over: at CORE_RATE_HZ."""
        gap = np.zeros(round(rng.uniform(*GAP_S) * CORE_RATE_HZ), np.complex64)
        self._turn = np.concatenate([over, gap])
        self._at = int(rng.integers(len(over)))

    def take(self, count: int) -> Complex:
        """Return what it transmits next, shape (count,)."""
        parts = []
        while count:
            part = self._turn[self._at : self._at + count]
            parts.append(part)
            count -= len(part)
            self._at = (self._at + len(part)) % len(self._turn)
        return np.concatenate(parts) if parts else self._turn[:0]
