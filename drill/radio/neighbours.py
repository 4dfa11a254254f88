"""A station's emission as it appears at the receiver's input.

Used for the wanted station and for its neighbours. A neighbour's voice is shifted by its frequency
offset, a neighbour on the other sideband is inverted, and the splatter of an overdriven neighbour
falls into the wanted channel. The levels of the neighbours are set in drill.radio.channel
(_neighbour_stages).
"""

import numpy as np

from drill.radio import BASEBAND_RATE_HZ, CENTRE_HZ
from drill.radio.filters import (
    TUNING_STEP_HZ,
    BandFilter,
    ComplexArray,
    Passband,
    apply_filter,
)
from drill.radio.oscillator import phasor
from drill.radio.transmitter import Emission

ALIAS_FREE_BAND = Passband(low_hz=-350.0, high_hz=3350.0)
"""The part of the baseband without aliases; no receiver filter extends beyond it."""
LISTENING_GAP_S = (1.0, 4.0)
"""Shortest and longest time that a neighbour listens between its overs."""


def tune(
    emission: Emission, offset_hz: float, *, inverted: bool = False, level_db: float = 0.0
) -> ComplexArray:
    """Return an emission as baseband at BASEBAND_RATE_HZ, shape (n,).

    offset_hz: frequency of the station minus that of the receiver. inverted: the station uses the
    other sideband. level_db: gain in dB.
    """
    coarse_hz = round(offset_hz / TUNING_STEP_HZ) * TUNING_STEP_HZ
    signal = emission.samples
    if emission.rate_hz != BASEBAND_RATE_HZ or coarse_hz or inverted:
        shifter = BandFilter(
            ALIAS_FREE_BAND,
            rate_in=emission.rate_hz,
            rate_out=BASEBAND_RATE_HZ,
            centre_in=-CENTRE_HZ if inverted else CENTRE_HZ,
            centre_out=CENTRE_HZ,
            shift_hz=coarse_hz,
        )
        signal = apply_filter(shifter, signal.conj() if inverted else signal)
    fine_hz = offset_hz - coarse_hz
    if fine_hz:
        signal = signal * phasor(fine_hz, BASEBAND_RATE_HZ, len(signal))
    return signal * np.float32(10 ** (level_db / 20)) if level_db else signal


class RepeatingStation:
    """A neighbour that transmits its over, listens for a while, and transmits it again.

    over: baseband at BASEBAND_RATE_HZ, shape (n,).
    """

    def __init__(self, over: ComplexArray, rng: np.random.Generator) -> None:
        """Draw how long the station listens and where in its over it starts."""
        gap = np.zeros(round(rng.uniform(*LISTENING_GAP_S) * BASEBAND_RATE_HZ), np.complex64)
        self._period = np.concatenate([over, gap])
        self._position = int(rng.integers(len(over)))

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        parts = []
        while count:
            part = self._period[self._position : self._position + count]
            parts.append(part)
            count -= len(part)
            self._position = (self._position + len(part)) % len(self._period)
        return np.concatenate(parts) if parts else self._period[:0]
