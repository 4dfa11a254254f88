"""The ionosphere as two equal paths that fade independently (the Watterson channel).

Conventions
-----------
* Doppler spread B is two sigma of the Gaussian Doppler power spectrum S(f) ~ exp(-2 f^2 / B^2).
  White noise is therefore shaped by the square root of S; shaping by S itself would make every
  spread too small by the root of two.
* Both taps are complex Gaussian with mean power 1/2, so that the channel has unit mean power over
  the ensemble. A single realisation is never normalised: in a few seconds of slow fading its mean
  power lies several dB off, and that is what the trainee has to live with.

Source: ITU-R F.1487 (05/2000), Annex 1; C. Watterson et al., Experimental confirmation of an HF
channel model, IEEE Trans. Commun. Technol. 18 (1970).
"""

import numpy as np

from drill.items import Fading
from drill.radio.passband import Analytic

KNOTS_PER_HZ = 32
"""Taps are made at 32 B knots a second and joined by lines; the error is (pi/32)^4/40, -56 dB."""
LEAST_KNOT_RATE_HZ = 40.0
REACH = 1.0
"""Half length of the shaping filter in units of 1/B, where it has fallen to -86 dB."""


def tap(count: int, rate_hz: float, spread_hz: float, rng: np.random.Generator) -> Analytic:
    """Return one fading tap, shape (count,), unit mean power over the ensemble.

    Autocorrelation exp(-(pi B tau)^2 / 2). Source: ITU-R F.1487, Annex 1.
    """
    from scipy.signal import oaconvolve

    knot_rate = max(KNOTS_PER_HZ * spread_hz, LEAST_KNOT_RATE_HZ)
    knots = int(np.ceil(count / rate_hz * knot_rate)) + 2
    half = int(np.ceil(REACH / spread_hz * knot_rate))
    time = np.arange(-half, half + 1) / knot_rate
    shape = np.exp(-((np.pi * spread_hz * time) ** 2))
    shape /= np.sqrt(np.sum(shape**2))
    white = rng.standard_normal((knots + 2 * half, 2)) @ np.array([1, 1j]) / np.sqrt(2)
    coarse = oaconvolve(white, shape, mode="valid")
    at = np.arange(count) * (knot_rate / rate_hz)
    grid = np.arange(len(coarse))
    return np.asarray(np.interp(at, grid, coarse.real) + 1j * np.interp(at, grid, coarse.imag))


def fade(signal: Analytic, rate_hz: int, fading: Fading, rng: np.random.Generator) -> Analytic:
    """Return the analytic signal, shape (n,), after the path; same length, first path undelayed.

    The delay is rounded to a whole sample, 1/16 ms at 16 kHz; all of F.1487's delays are multiples.
    A fading with no spread and no delay is a steady path and returns the signal as it is.
    """
    if fading.spread_hz == 0 and fading.delay_ms == 0:
        return signal
    shift = round(fading.delay_ms * rate_hz / 1000)
    late = np.concatenate([np.zeros(shift, signal.dtype), signal])[: len(signal)]
    first, second = (_gain(len(signal), rate_hz, fading, rng) for _ in range(2))
    return np.asarray((first * signal + second * late) / np.sqrt(2))


def _gain(count: int, rate_hz: int, fading: Fading, rng: np.random.Generator) -> Analytic:
    """Return a tap; without Doppler spread, one fixed phase, so that two paths comb at random."""
    if fading.spread_hz == 0:
        return np.full(count, np.exp(2j * np.pi * rng.random()))
    return tap(count, rate_hz, fading.spread_hz, rng)
