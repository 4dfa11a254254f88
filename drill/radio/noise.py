"""Band noise as it reaches the receiver, before its filter: Gaussian, or with atmospheric static.

Static is Gaussian noise whose strength is itself random: n = w exp(a Z) / sqrt(E exp(2 a Z)), w
complex Gaussian and Z a slow Gaussian process. The voltage deviation Vd, 20 lg of the root mean
square of the envelope over its mean, of such a mixture is 10 lg(4/pi) + 10 lg(E m^2 / (E m)^2) with
m = exp(a Z). Z is cut off at three sigma, since the power of the uncut mixture would never settle.

Most of Z changes within 10 ms, a crackle; the rest within 150 ms, the swell of a crash. Both are
slow against the receiver's filter, so that the Vd that is asked for is what is heard through it;
P.372 gives Vd for 200 Hz, where it is smaller. The proportions of crackle and crash are a choice by
ear; common practice, no source.

Sources: G. Box, M. Muller, A note on the generation of random normal deviates, Ann. Math. Statist.
29 (1958); ITU-R P.372 (Vd); 1.049 dB of Gaussian noise is 10 lg(4/pi), from the Rayleigh envelope.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.radio import CORE_RATE_HZ
from drill.radio.fading_taps import Drift
from drill.radio.filters import Complex

GAUSSIAN_VD_DB = float(10 * np.log10(4 / np.pi))
BATCH = 4096
CUT = 3.0
CRACKLE_S = 0.010
SWELL_S = 0.150
SWELL_SHARE = 0.2
"""Of the variance of Z."""


class BandNoise:
    """White complex noise at CORE_RATE_HZ, taken in pieces of any size.

    density: N0, power per hertz of the sound that the real part becomes after the receiver's
    filter. vd_db: voltage deviation, None for Gaussian noise.
    """

    def __init__(self, density: float, vd_db: float | None, rng: np.random.Generator) -> None:
        """Start it."""
        self._rng, shape_rng = rng.spawn(2)
        # Half of the complex power goes to the real part, so that it is 2 N0 rate before.
        self._scale = np.float32(np.sqrt(density * CORE_RATE_HZ))
        self._ready: Complex = np.zeros(0, np.complex64)
        self._static = None if vd_db is None else _Static(vd_db, shape_rng)

    def take(self, count: int) -> Complex:
        """Return the next noise, shape (count,)."""
        batches = -(-(count - len(self._ready)) // BATCH)
        ready = np.concatenate([self._ready, *(self._batch() for _ in range(batches))])
        white, self._ready = ready[:count], ready[count:]
        if self._static is not None:
            white = white * self._static.take(count)
        return np.asarray(white, np.complex64)

    def _batch(self) -> Complex:
        """Return BATCH values by Box and Muller's method, whose logarithms and cosines NumPy makes
        in vectors: half the time of its own generator of normal numbers.

        In single precision the method reaches 5.8 sigma. The batch is fixed, so that the noise does
        not depend on how it is taken.
        """
        radius, angle = self._rng.random((2, BATCH), dtype=np.float32)
        radius = self._scale * np.sqrt(-2 * np.log(1 - radius))
        angle *= np.float32(2 * np.pi)
        pairs = np.empty((BATCH, 2), np.float32)
        np.multiply(radius, np.cos(angle), out=pairs[:, 0])
        np.multiply(radius, np.sin(angle), out=pairs[:, 1])
        return pairs.reshape(-1).view(np.complex64)


class _Static:
    """The strength of static over time, mean square 1."""

    def __init__(self, vd_db: float, rng: np.random.Generator) -> None:
        self._depth = depth(vd_db)
        # A spread of B has fallen to exp(-1/2) after 1 / (pi B).
        self._parts = [
            (np.float32(np.sqrt(2 * share)), Drift(1 / (np.pi * time_s), CORE_RATE_HZ, child))
            for time_s, share, child in zip(
                (CRACKLE_S, SWELL_S), (1 - SWELL_SHARE, SWELL_SHARE), rng.spawn(2), strict=True
            )
        ]
        self._scale = np.float32(1 / np.sqrt(_moment(2 * self._depth)))

    def take(self, count: int) -> NDArray[np.float32]:
        slow = sum(scale * drift.take(count).real for scale, drift in self._parts)
        cut = np.clip(np.asarray(slow), -CUT, CUT)
        return np.asarray(np.exp(np.float32(self._depth) * cut) * self._scale, np.float32)


def _moment(power: float) -> float:
    """Return E exp(power Z), Z a unit Gaussian cut off at CUT."""
    from scipy.special import ndtr

    middle = np.exp(power**2 / 2) * (ndtr(CUT - power) - ndtr(-CUT - power))
    return float(middle + ndtr(-CUT) * (np.exp(CUT * power) + np.exp(-CUT * power)))


def voltage_deviation_db(depth_a: float) -> float:
    """Return Vd in dB of a static of this depth a."""
    return GAUSSIAN_VD_DB + 10 * float(np.log10(_moment(2 * depth_a) / _moment(depth_a) ** 2))


@lru_cache(maxsize=64)
def depth(vd_db: float) -> float:
    """Return the depth a that gives Vd. Raises: ValueError where Vd is not 1.05 to 12 dB."""
    from scipy.optimize import brentq

    if not GAUSSIAN_VD_DB < vd_db <= 12:
        raise ValueError(f"a voltage deviation of {vd_db:g} dB is not within 1.05 and 12 dB")
    return float(brentq(lambda a: voltage_deviation_db(a) - vd_db, 0, 4))
