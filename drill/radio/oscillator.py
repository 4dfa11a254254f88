"""The receiver's oscillator: brings a station's carrier to baseband, and changes frequency
smoothly.

At rest its phase depends only on the time and its frequency, so the sound does not depend on
earlier positions of the dial. When it is turned it glides: the frequency changes linearly, and the
phase reaches its value at rest within GLIDE_SAMPLES.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.radio.filters import ComplexArray

GLIDE_SAMPLES = 512
"""Length of a glide: 32 ms at 16 kHz. Bringing the phase to its value at rest changes the frequency
by at most 24 Hz for that time, which is inaudible."""

LONGEST_KEPT = 4096
"""Longest phasor, in samples, that is kept in memory."""


def phasor(frequency_hz: float, rate_hz: int, count: int) -> ComplexArray:
    """Return exp(2 pi i f t), shape (count,).

    As a product of two short tables it takes a fifth of the time of one exponential per sample.
    """
    size = math.isqrt(count) + 1
    fine, coarse = (
        np.exp(2j * np.pi * (frequency_hz / rate_hz * step * np.arange(size) % 1.0))
        for step in (1, size)
    )
    return np.outer(coarse, fine).reshape(-1)[:count].astype(np.complex64)


@lru_cache(maxsize=128)
def _short_phasor(frequency_hz: float, rate_hz: int, count: int) -> ComplexArray:
    """Return a phasor from memory; with the dial at rest, all blocks of a station use the same.

    The array is read-only.
    """
    factors = phasor(frequency_hz, rate_hz, count)
    factors.flags.writeable = False
    return factors


@dataclass(frozen=True, kw_only=True, slots=True)
class _Glide:
    """A glide from one frequency to another; added_cycles brings the phase to its value at rest."""

    start: int
    from_hz: float
    to_hz: float
    added_cycles: float

    @property
    def end(self) -> int:
        return self.start + GLIDE_SAMPLES


class LocalOscillator:
    """The oscillator of a receiver on a band. Times are samples since the start of the band.

    dial_hz: frequency above the lower edge of the band. rate_hz: sampling rate of the baseband.
    """

    def __init__(self, dial_hz: float, rate_hz: int) -> None:
        """Start at rest."""
        self._rate_hz = rate_hz
        self._glides = [
            _Glide(start=-GLIDE_SAMPLES, from_hz=dial_hz, to_hz=dial_hz, added_cycles=0.0)
        ]

    @property
    def dial_hz(self) -> float:
        """The frequency to which the dial was last turned."""
        return self._glides[-1].to_hz

    def turn(self, at: int, dial_hz: float) -> int:
        """Glide to a frequency from a time on; return the start of the glide.

        A glide in progress is finished first; one that has not begun is replaced.
        """
        self._glides = [glide for glide in self._glides if glide.start <= at]
        last = self._glides[-1]
        start = max(at, last.end)
        step_hz = dial_hz - last.to_hz
        cycles = step_hz * (start + GLIDE_SAMPLES / 2) / self._rate_hz
        self._glides.append(
            _Glide(
                start=start,
                from_hz=last.to_hz,
                to_hz=dial_hz,
                added_cycles=cycles - round(cycles),
            )
        )
        return start

    def forget_before(self, at: int) -> None:
        """Drop the glides that ended before a time; the current frequency is kept."""
        past = sum(glide.end <= at for glide in self._glides)
        self._glides = self._glides[max(0, past - 1) :]

    def nearest_offset_hz(self, carrier_hz: float, start: int, count: int) -> float:
        """Return the smallest distance of a carrier from the dial during a time."""
        return min(
            abs(carrier_hz - hz)
            for glide, first, last in self._stretches(start, count)
            for hz in ((glide.to_hz,) if first >= glide.end else (glide.from_hz, glide.to_hz))
        )

    def bring_down(self, carrier_hz: float, start: int, count: int) -> ComplexArray:
        """Return the factors for a station's baseband, shape (count,)."""
        parts = [
            self._at_rest(carrier_hz - glide.to_hz, first, last - first)
            if first >= glide.end
            else self._gliding(carrier_hz, glide, np.arange(first, last, dtype=np.float64))
            for glide, first, last in self._stretches(start, count)
        ]
        return parts[0] if len(parts) == 1 else np.concatenate(parts)

    def _stretches(self, start: int, count: int) -> list[tuple[_Glide, int, int]]:
        """Return the parts of a time span: the latest glide, first and end sample of each."""
        stop, stretches = start + count, []
        for number, glide in enumerate(self._glides):
            following = self._glides[number + 1 : number + 2]
            until = min(stop, following[0].start) if following else stop
            for begin, end in ((glide.start, glide.end), (glide.end, until)):
                first, last = max(begin, start), min(end, until)
                if first < last:
                    stretches.append((glide, first, last))
        return stretches

    def _at_rest(self, offset_hz: float, start: int, count: int) -> ComplexArray:
        turned = np.complex64(np.exp(2j * np.pi * (offset_hz * start / self._rate_hz % 1.0)))
        create = _short_phasor if count <= LONGEST_KEPT else phasor
        return turned * create(offset_hz, self._rate_hz, count)

    def _gliding(self, carrier_hz: float, glide: _Glide, at: NDArray[np.float64]) -> ComplexArray:
        part = (at - glide.start) / GLIDE_SAMPLES
        cycles = (carrier_hz - glide.from_hz) * at / self._rate_hz
        cycles -= (glide.to_hz - glide.from_hz) * GLIDE_SAMPLES / self._rate_hz * part**2 / 2
        cycles -= glide.added_cycles * part**2 * (3 - 2 * part)
        return np.asarray(np.exp(2j * np.pi * (cycles % 1.0)), np.complex64)
