"""Band noise at the receiver's input: Gaussian, or with atmospheric static.

Static is Gaussian noise whose strength is itself random: n = w exp(a Z) / sqrt(E exp(2 a Z)), where
w is complex Gaussian, Z is a slow Gaussian process and a is the depth. The voltage deviation Vd (20
lg of the envelope's root mean square over its mean) of this mixture is
10 lg(4/pi) + 10 lg(E m^2 / (E m)^2) with m = exp(a Z). Z is clipped at three sigma; without that
the measured power would never converge.

Most of Z varies within 10 ms (crackle), the rest within 150 ms (the swell of a crash). The
proportions of crackle and swell were chosen by ear: common practice, no source.

Vd depends on the bandwidth in which it is measured. As in ITU-R P.372 it refers to 200 Hz, here
after an 8th-order Butterworth filter with half-power points 200 Hz apart. Such a narrow filter
smooths the crackle; in the receiver's bandwidth a Vd of 6 dB becomes 0.3 dB higher, and one of 9 dB
becomes 0.6 dB higher.

Sources: G. Box, M. Muller, A note on the generation of random normal deviates, Ann. Math. Statist.
29 (1958); ITU-R P.372 (Vd); 1.049 dB for Gaussian noise is 10 lg(4/pi), from the Rayleigh envelope.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading_taps import FadingTap
from drill.radio.filters import ComplexArray

GAUSSIAN_VD_DB = float(10 * np.log10(4 / np.pi))
MAX_VD_DB = 12.0
NOISE_BATCH = 4096
STATIC_CLIP_SIGMA = 3.0
CRACKLE_S = 0.010
SWELL_S = 0.150
SWELL_SHARE = 0.2
"""Share of the variance of Z."""
WIDE_EXCESS = (0.0602, 0.00156)
"""Vd before the 200 Hz filter minus Vd after it: coefficients of x and x^2, where x is the Vd after
it minus GAUSSIAN_VD_DB. Fitted within 0.01 dB to the mixture's Vd, computed for twelve depths from
2,500 s of its strength averaged over the filter's impulse response."""


class BandNoise:
    """White complex noise at BASEBAND_RATE_HZ.

    density: N0, power per hertz of the real audio after the receiver's filter. vd_db: voltage
    deviation in 200 Hz, dB; None for Gaussian noise.
    """

    def __init__(self, density: float, vd_db: float | None, rng: np.random.Generator) -> None:
        """Start the generators of the noise and of its strength."""
        self._rng, strength_rng = rng.spawn(2)
        # Complex noise of density 2 N0 becomes real audio of density N0.
        self._scale = np.float32(np.sqrt(density * BASEBAND_RATE_HZ))
        self._ready: ComplexArray = np.zeros(0, np.complex64)
        self._strength = None if vd_db is None else _StaticStrength(vd_db, strength_rng)

    def take(self, count: int) -> ComplexArray:
        """Return the next samples, shape (count,)."""
        batches = -(-(count - len(self._ready)) // NOISE_BATCH)
        ready = np.concatenate([self._ready, *(self._next_batch() for _ in range(batches))])
        noise, self._ready = ready[:count], ready[count:]
        if self._strength is not None:
            noise = noise * self._strength.take(count)
        return np.asarray(noise, np.complex64)

    def _next_batch(self) -> ComplexArray:
        """Return NOISE_BATCH samples by the method of Box and Muller.

        NumPy vectorises its logarithms and cosines, so it takes half the time of NumPy's own normal
        generator. In single precision it reaches 5.8 sigma. The batch has a fixed size, so the
        noise does not depend on the size of the requests.
        """
        radius, angle = self._rng.random((2, NOISE_BATCH), dtype=np.float32)
        radius = self._scale * np.sqrt(-2 * np.log(1 - radius))
        angle *= np.float32(2 * np.pi)
        pairs = np.empty((NOISE_BATCH, 2), np.float32)
        np.multiply(radius, np.cos(angle), out=pairs[:, 0])
        np.multiply(radius, np.sin(angle), out=pairs[:, 1])
        return pairs.reshape(-1).view(np.complex64)


class _StaticStrength:
    """The strength of static over time, with a mean square of 1."""

    def __init__(self, vd_db: float, rng: np.random.Generator) -> None:
        self._depth = static_depth(vd_db)
        # With a spread of B, the autocorrelation falls to exp(-1/2) within 1 / (pi B).
        self._parts = [
            (
                np.float32(np.sqrt(2 * share)),
                FadingTap(1 / (np.pi * time_s), BASEBAND_RATE_HZ, child),
            )
            for time_s, share, child in zip(
                (CRACKLE_S, SWELL_S), (1 - SWELL_SHARE, SWELL_SHARE), rng.spawn(2), strict=True
            )
        ]
        self._scale = np.float32(1 / np.sqrt(_clipped_moment(2 * self._depth)))

    def take(self, count: int) -> NDArray[np.float32]:
        z = sum(scale * tap.take(count).real for scale, tap in self._parts)
        clipped = np.clip(np.asarray(z), -STATIC_CLIP_SIGMA, STATIC_CLIP_SIGMA)
        return np.asarray(np.exp(np.float32(self._depth) * clipped) * self._scale, np.float32)


def _clipped_moment(exponent: float) -> float:
    """Return E exp(exponent Z), where Z is a unit Gaussian clipped at STATIC_CLIP_SIGMA."""
    clip = STATIC_CLIP_SIGMA
    middle = np.exp(exponent**2 / 2) * (
        _normal_cdf(clip - exponent) - _normal_cdf(-clip - exponent)
    )
    tails = np.exp(clip * exponent) + np.exp(-clip * exponent)
    return float(middle + _normal_cdf(-clip) * tails)


def _normal_cdf(z: float) -> float:
    """Return the standard normal distribution function; scipy.special takes long to import."""
    return math.erfc(-z / math.sqrt(2)) / 2


def static_vd_db(depth: float) -> float:
    """Return the voltage deviation Vd in dB of static of this depth a, before any filter."""
    ratio = _clipped_moment(2 * depth) / _clipped_moment(depth) ** 2
    return GAUSSIAN_VD_DB + 10 * float(np.log10(ratio))


@lru_cache(maxsize=64)
def static_depth(vd_db: float) -> float:
    """Return the depth a that gives this voltage deviation in 200 Hz.

    Raises: ValueError if vd_db is not above GAUSSIAN_VD_DB and at most MAX_VD_DB.
    """
    from scipy.optimize import brentq

    if not GAUSSIAN_VD_DB < vd_db <= MAX_VD_DB:
        raise ValueError(
            f"a voltage deviation of {vd_db:g} dB is out of range; "
            f"it must be above 1.05 and at most {MAX_VD_DB:g} dB"
        )
    excess_db = vd_db - GAUSSIAN_VD_DB
    wide_db = vd_db + WIDE_EXCESS[0] * excess_db + WIDE_EXCESS[1] * excess_db**2
    return float(brentq(lambda depth: static_vd_db(depth) - wide_db, 0, 4))
