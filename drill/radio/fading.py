"""Fading of one station: two ionospheric paths that fade independently (Watterson model).

Each path has a complex Gaussian tap gain (`drill.radio.fading_taps`), so its amplitude is Rayleigh
distributed. The mean power of both together is 1 over the ensemble. A single realisation is never
normalised: over a few seconds of slow fading its mean power can be several dB higher or lower, as
on the air. Two options: a steady (specular) component on the first path, and a different mean power
of the second path.

Source: ITU-R F.1487 (05/2000), Annex 1; C. Watterson et al., Experimental confirmation of an HF
channel model, IEEE Trans. Commun. Technol. 18 (1970). Specular component: S. O. Rice, Mathematical
analysis of random noise, Bell Syst. Tech. J. 24 (1945).
"""

import numpy as np
from numpy.typing import NDArray

from drill.core.conditions import Fading
from drill.core.indexed_random import IndexedRandom
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading_taps import FadingTap
from drill.radio.filters import ComplexArray

DELAY_FILTER_REACH = 16
"""Half length of the fractional delay filter in samples.

Its error is below -80 dB within 1.25 kHz of the centre, the band of a voice. Every station is
delayed by this many samples (4 ms), even without a second path, so that all stations stay aligned.
"""


class WattersonFading:
    """The two paths of one station, for its signal in chunks of any size.

    The first path has no delay. If the fading has neither spread nor delay, the signal passes
    unchanged. If it has a delay but no spread, two constant paths interfere.

    rate_hz: sampling rate. before: samples of the signal that are needed before the first one that
    is faded. after: samples that are needed after the last one.
    """

    after = DELAY_FILTER_REACH

    def __init__(
        self,
        fading: Fading,
        rng: np.random.Generator | IndexedRandom,
        *,
        rate_hz: int = BASEBAND_RATE_HZ,
    ) -> None:
        """Start both path gains."""
        power = 10 ** (fading.second_db / 10)
        self._steady = fading.steady
        if not self._steady:
            first_rng, second_rng = rng.spawn(2)
            self._first = _PathGain(
                fading.spread_hz, rate_hz, 1 / (1 + power), first_rng, fading.specular_db
            )
            self._second = _PathGain(fading.spread_hz, rate_hz, power / (1 + power), second_rng)
        delay = fading.delay_ms * rate_hz / 1000
        self._delay_filter = _fractional_delay_filter(delay - round(delay))
        self.before = round(delay) + DELAY_FILTER_REACH
        self._history: ComplexArray = np.zeros(self.before, np.complex64)

    def process(self, signal: ComplexArray) -> ComplexArray:
        """Fade the next chunk; its last DELAY_FILTER_REACH samples come with the following one."""
        known = np.concatenate([self._history, signal])
        count = max(0, len(known) - self.before - DELAY_FILTER_REACH)
        self._history = known[count:]
        return self.fade(known, count)

    def fade(self, known: ComplexArray, count: int) -> ComplexArray:
        """Return the next `count` faded samples.

        known: the signal from `before` samples before them to `after` samples after them.
        """
        direct = known[self.before : self.before + count]
        if self._steady or not count:
            return direct
        delayed = known[DELAY_FILTER_REACH:]  # the second path, delayed by whole samples
        if self._delay_filter is not None:
            near = known[: count + 2 * DELAY_FILTER_REACH]
            delayed = np.asarray(np.convolve(near, self._delay_filter, "valid"), np.complex64)
        faded = self._first.take(count) * direct
        faded += self._second.take(count) * delayed[:count]
        return np.asarray(faded)

    def skip(self, count: int) -> None:
        """Skip the gains of the next `count` samples."""
        if not self._steady:
            self._first.skip(count)
            self._second.skip(count)

    def finish(self) -> ComplexArray:
        """Return the remaining output; echoes after the end of the signal are cut off."""
        return self.process(np.zeros(DELAY_FILTER_REACH, np.complex64))


class _PathGain:
    """The gain of one path over time: Gaussian, or constant with a random phase if spread_hz is 0.

    power: mean power. specular_db: steady power relative to scattered power, None for none.
    """

    def __init__(
        self,
        spread_hz: float,
        rate_hz: int,
        power: float,
        rng: np.random.Generator | IndexedRandom,
        specular_db: float | None = None,
    ) -> None:
        steady_share = 0.0
        if spread_hz == 0:
            steady_share = 1.0
        elif specular_db is not None:
            steady_share = 1 / (1 + 10 ** (-specular_db / 10))
        phase = np.exp(2j * np.pi * rng.random())
        self._steady = np.complex64(phase * np.sqrt(power * steady_share))
        scattered_power = power * (1 - steady_share)
        self._tap = FadingTap(spread_hz, rate_hz, rng, scattered_power) if spread_hz else None

    def take(self, count: int) -> ComplexArray:
        """Return the next gains, shape (count,)."""
        if self._tap is None:
            return np.full(count, self._steady)
        gain = self._tap.take(count)
        return gain + self._steady if self._steady else gain

    def skip(self, count: int) -> None:
        """Skip the next gains."""
        if self._tap is not None:
            self._tap.skip(count)


def _fractional_delay_filter(shift: float) -> NDArray[np.float32] | None:
    """Return a windowed sinc, shape (2 DELAY_FILTER_REACH + 1,), that delays by `shift` samples.

    shift: less than one sample; None is returned if it is zero.
    """
    if abs(shift) < 1e-6:
        return None
    time = np.arange(-DELAY_FILTER_REACH, DELAY_FILTER_REACH + 1) - shift
    window = np.i0(8 * np.sqrt(np.maximum(0, 1 - (time / (DELAY_FILTER_REACH + 1)) ** 2)))
    kernel = np.sinc(time) * window
    return np.asarray(kernel / np.sum(kernel), np.float32)
