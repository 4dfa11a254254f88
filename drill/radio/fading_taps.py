"""Fading tap: a slow complex Gaussian process with a Gaussian Doppler spectrum.

The mean power is 1 over the ensemble; a realisation is never normalised by its own mean. The power
spectrum is S(f) ~ exp(-2 f^2 / B^2), so the Doppler spread B is two standard deviations of it; the
autocorrelation is exp(-(pi B tau)^2 / 2). White noise is shaped by the square root of S: shaping it
by S itself would make every spread too small by a factor of sqrt(2).

The same process also modulates static (`drill.radio.noise`) and mains buzz
(`drill.radio.interference`).

Source: ITU-R F.1487 (05/2000), Annex 1 (definition of frequency spread).
"""

from itertools import count

import numpy as np
from numpy.typing import NDArray

from drill.core.indexed_random import IndexedRandom
from drill.radio.filters import ComplexArray

KNOTS_PER_SPREAD = 32
"""The process is computed at 32 B knots per second and interpolated linearly: -56 dB error.

The mean square error of linear interpolation is (pi/32)^4/40.
"""
MIN_KNOT_RATE_HZ = 40.0
TAP_FILTER_REACH = 1.0
"""Half length of the shaping filter in units of 1/B; there its response has fallen to -86 dB."""
TAP_BATCH_S = 2.0
"""Knots computed together; constant, so the process does not depend on the size of the requests."""


def fast_length(least: int) -> int:
    """Return the lowest length, `least` or above, with no prime factor above 11.

    Transforms of such lengths are fast. scipy.fft.next_fast_len does the same, but takes long to
    import.
    """
    # 2310 is 2 x 3 x 5 x 7 x 11; its 64th power is a multiple of every such length below 2^64.
    return next(length for length in count(least) if not pow(2310, 64, length))


class FadingTap:
    """One realisation of the process; equal generators give equal realisations.

    spread_hz: Doppler spread (two sigma), above 0 and at most rate_hz / 8. rate_hz: sampling rate.
    power: mean square over the ensemble. With IndexedRandom, skipping takes constant time.

    Raises: ValueError if the spread is out of range.
    """

    def __init__(
        self,
        spread_hz: float,
        rate_hz: float,
        rng: np.random.Generator | IndexedRandom,
        power: float = 1.0,
    ) -> None:
        """Design the shaping filter and compute the first knot."""
        if not 0 < spread_hz <= rate_hz / 8:
            raise ValueError(
                f"a spread of {spread_hz:g} Hz is out of range; "
                f"it must be above 0 and at most {rate_hz / 8:g} Hz"
            )
        knot_rate = max(KNOTS_PER_SPREAD * spread_hz, MIN_KNOT_RATE_HZ)
        self._samples_per_knot = max(1, int(rate_hz / knot_rate))
        knot_rate = rate_hz / self._samples_per_knot
        half = int(np.ceil(TAP_FILTER_REACH / spread_hz * knot_rate))
        time = np.arange(-half, half + 1) / knot_rate
        taps = np.exp(-((np.pi * spread_hz * time) ** 2))
        taps *= np.sqrt(power / np.sum(taps**2))
        self._batch = round(TAP_BATCH_S * knot_rate)
        self._size = fast_length(self._batch + 2 * half)
        self._response = np.fft.fft(taps, self._size)
        self._rng = rng
        self._white = self._white_noise(2 * half)
        self._ramp = (np.arange(self._samples_per_knot) / self._samples_per_knot).astype(
            np.complex64
        )
        self._last_knot = self._next_knots()[-1:]
        self._ready: ComplexArray = np.zeros(0, np.complex64)

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        parts, available = [self._ready], len(self._ready)
        while available < count:
            parts.append(self._interpolated_batch())
            available += len(parts[-1])
        ready = np.concatenate(parts) if len(parts) > 1 else self._ready
        self._ready = ready[count:]
        return ready[:count]

    def skip(self, count: int) -> None:
        """Skip the next samples cheaply: at most, their random numbers are drawn."""
        known = min(count, len(self._ready))
        self._ready = self._ready[known:]
        batches, rest = divmod(count - known, self._batch * self._samples_per_knot)
        self._skip_white_noise(max(0, batches - 1) * self._batch)
        if batches:
            self._last_knot = self._next_knots()[-1:]
        if rest:
            self.take(rest)

    def _skip_white_noise(self, count: int) -> None:
        known = len(self._white)
        if isinstance(self._rng, IndexedRandom) and count > known:
            self._rng.skip(2 * (count - known))
            self._white = self._white_noise(known)
            return
        for _ in range(count // self._batch):
            white = np.concatenate([self._white, self._white_noise(self._batch)])
            self._white = white[self._batch :]

    def _white_noise(self, count: int) -> NDArray[np.complex128]:
        pairs = self._rng.standard_normal(2 * count) * np.sqrt(0.5)
        return np.asarray(pairs.view(np.complex128))

    def _next_knots(self) -> NDArray[np.complex128]:
        """Return the next batch of knots."""
        white = np.concatenate([self._white, self._white_noise(self._batch)])
        self._white = white[self._batch :]
        shaped = np.fft.ifft(np.fft.fft(white, self._size) * self._response)
        return np.asarray(shaped[len(white) - self._batch : len(white)])

    def _interpolated_batch(self) -> ComplexArray:
        """Return the samples up to the last knot of the next batch."""
        batch = self._next_knots()
        knots = np.concatenate([self._last_knot, batch]).astype(np.complex64)
        self._last_knot = batch[-1:]
        samples = np.diff(knots)[:, None] * self._ramp
        samples += knots[:-1, None]
        return samples.reshape(-1)
