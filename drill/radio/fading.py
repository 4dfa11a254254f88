"""The ionosphere as two paths that fade independently (the Watterson channel).

Each path has a complex Gaussian tap (drift), so its amplitude is Rayleigh distributed. Both
together have unit mean power over the ensemble. A single realisation is never normalised: in a few
seconds of slow fading its mean power lies several dB off, and that is what the trainee has to live
with. As options, the first path has a steady (specular) part, and the second another mean power.

Source: ITU-R F.1487 (05/2000), Annex 1; C. Watterson et al., Experimental confirmation of an HF
channel model, IEEE Trans. Commun. Technol. 18 (1970). Specular part: S. O. Rice, Mathematical
analysis of random noise, Bell Syst. Tech. J. 24 (1945).
"""

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Fading
from drill.radio import CORE_RATE_HZ
from drill.radio.fading_taps import Drift
from drill.radio.filters import Complex

REACH = 16
"""Half length in samples of the filter that delays by a part of a sample; its error is below
-80 dB over the 1.25 kHz either side of the centre that a voice takes. As many samples (4 ms) are
held back, whatever the delay, so that all stations stay in step."""


class Ionosphere:
    """The path of one station, for its signal at CORE_RATE_HZ in pieces of any size.

    The first path is not delayed. A steady path (neither spread nor delay) leaves the signal as it
    is. Without spread but with delay, two fixed paths interfere.
    """

    def __init__(self, fading: Fading, rng: np.random.Generator) -> None:
        """Start the taps."""
        power = 10 ** (fading.second_db / 10)
        self._steady = fading.steady
        if not self._steady:
            one, two = rng.spawn(2)
            self._first = _Tap(fading.spread_hz, 1 / (1 + power), one, fading.specular_db)
            self._second = _Tap(fading.spread_hz, power / (1 + power), two)
        delay = fading.delay_ms * CORE_RATE_HZ / 1000
        self._late = round(delay)
        self._kernel = _part_of_a_sample(delay - self._late)
        self._past = self._late + REACH
        self._known: Complex = np.zeros(self._past, np.complex64)

    def process(self, signal: Complex) -> Complex:
        """Return the signal after the path, all but the last REACH samples of what was given."""
        known = np.concatenate([self._known, signal])
        count = max(0, len(known) - self._past - REACH)
        self._known = known[count:]
        direct = known[self._past : self._past + count]
        if self._steady or not count:
            return direct
        late = known[REACH:]  # starts so that its first sample is the one that arrives now
        if self._kernel is not None:
            late = np.convolve(known[: count + 2 * REACH], self._kernel, "valid")
        result = self._first.take(count) * direct
        result += self._second.take(count) * late[:count]
        return np.asarray(result)

    def finish(self) -> Complex:
        """Return the rest; echoes after the end of the signal are cut off."""
        return self.process(np.zeros(REACH, np.complex64))


class _Tap:
    """One path's gain over time: Gaussian, or a fixed phase where there is no spread."""

    def __init__(
        self,
        spread_hz: float,
        power: float,
        rng: np.random.Generator,
        specular_db: float | None = None,
    ) -> None:
        steady = 0.0
        if spread_hz == 0:
            steady = 1.0
        elif specular_db is not None:
            steady = 1 / (1 + 10 ** (-specular_db / 10))
        phase = np.exp(2j * np.pi * rng.random())
        self._steady = np.complex64(phase * np.sqrt(power * steady))
        scattered = power * (1 - steady)
        self._drift = Drift(spread_hz, CORE_RATE_HZ, rng, scattered) if spread_hz else None

    def take(self, count: int) -> Complex:
        """Return the gain, shape (count,)."""
        if self._drift is None:
            return np.full(count, self._steady)
        gain = self._drift.take(count)
        return gain + self._steady if self._steady else gain


def _part_of_a_sample(shift: float) -> NDArray[np.float32] | None:
    """Return the filter, shape (2 REACH + 1,), that delays by less than a sample; None for none."""
    if abs(shift) < 1e-6:
        return None
    at = np.arange(-REACH, REACH + 1) - shift
    window = np.i0(8 * np.sqrt(np.maximum(0, 1 - (at / (REACH + 1)) ** 2)))
    kernel = np.sinc(at) * window
    return np.asarray(kernel / np.sum(kernel), np.float32)
