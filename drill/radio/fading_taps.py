"""A slow random process with a Gaussian spectrum: what fading taps and static swells are made of.

Complex Gaussian with mean power 1 over the ensemble, never normalised by its own mean. The power
spectrum is S(f) ~ exp(-2 f^2 / B^2), two sigma of it being the spread B; the autocorrelation is
exp(-(pi B tau)^2 / 2). White noise is shaped by the square root of S: shaping by S itself would
make every spread too small by the root of two.

Source: ITU-R F.1487 (05/2000), Annex 1 (definition of frequency spread).
"""

import numpy as np
from numpy.typing import NDArray

from drill.radio.filters import Complex

KNOTS_PER_SPREAD = 32
"""Made at 32 B knots a second and joined by lines; the error is (pi/32)^4/40, -56 dB."""
LEAST_KNOT_RATE_HZ = 40.0
REACH = 1.0
"""Half length of the shaping filter in units of 1/B, where it has fallen to -86 dB."""
BATCH_S = 2.0
"""What is made at once; fixed, so that the process does not depend on how it is taken."""


class Drift:
    """One realisation, taken in pieces of any size; same generator, same process."""

    def __init__(
        self, spread_hz: float, rate_hz: float, rng: np.random.Generator, power: float = 1.0
    ) -> None:
        """Start it.

        spread_hz: two sigma, above 0 and up to rate_hz / 8. power: mean square over the ensemble.

        Raises: ValueError where the spread is out of range.
        """
        from scipy import fft

        if not 0 < spread_hz <= rate_hz / 8:
            raise ValueError(f"a spread of {spread_hz:g} Hz is not within 0 and {rate_hz / 8:g}")
        knot_rate = max(KNOTS_PER_SPREAD * spread_hz, LEAST_KNOT_RATE_HZ)
        self._step = max(1, int(rate_hz / knot_rate))
        knot_rate = rate_hz / self._step
        half = int(np.ceil(REACH / spread_hz * knot_rate))
        time = np.arange(-half, half + 1) / knot_rate
        shape = np.exp(-((np.pi * spread_hz * time) ** 2))
        shape *= np.sqrt(power / np.sum(shape**2))
        self._batch = round(BATCH_S * knot_rate)
        self._size = fft.next_fast_len(self._batch + 2 * half)
        self._shape = fft.fft(shape, self._size)
        self._rng = rng
        self._white = self._draw(2 * half)
        self._ramp = (np.arange(self._step) / self._step).astype(np.complex64)
        self._last = self._knots()[-1:]
        self._ready: Complex = np.zeros(0, np.complex64)

    def take(self, count: int) -> Complex:
        """Return the next values, shape (count,)."""
        parts, have = [self._ready], len(self._ready)
        while have < count:
            parts.append(self._lines())
            have += len(parts[-1])
        ready = np.concatenate(parts) if len(parts) > 1 else self._ready
        self._ready = ready[count:]
        return ready[:count]

    def _draw(self, count: int) -> NDArray[np.complex128]:
        pairs = self._rng.standard_normal(2 * count) * np.sqrt(0.5)
        return np.asarray(pairs.view(np.complex128))

    def _knots(self) -> NDArray[np.complex128]:
        """Return the next knots, a batch of them."""
        from scipy import fft

        white = np.concatenate([self._white, self._draw(self._batch)])
        self._white = white[self._batch :]
        shaped = fft.ifft(fft.fft(white, self._size) * self._shape)
        return np.asarray(shaped[len(white) - self._batch : len(white)])

    def _lines(self) -> Complex:
        """Return the values along the lines between the next knots."""
        made = self._knots()
        knots = np.concatenate([self._last, made]).astype(np.complex64)
        self._last = made[-1:]
        lines = np.diff(knots)[:, None] * self._ramp
        lines += knots[:-1, None]
        return lines.reshape(-1)
