"""Active speech level by ITU-T P.56 method B, written after the ITU's own program; for tests only.

It follows module sv-p56 of the software tool library ITU-T G.191 (2023): two smoothing stages for
every sample, activity counted against thresholds, and interpolation between two of them. The
program's thresholds are a factor of two apart, so its reading varies with the gain by up to 0.1 dB;
the Recommendation allows a closer spacing, and this meter uses a quarter of that spacing. The
program's bisection stops within 0.5 dB of the margin; this meter solves the interpolation. It
shares no code with drill.radio.levels.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

TIME_CONSTANT_S = 0.03
HANGOVER_S = 0.2
MARGIN_DB = 15.9
THRESHOLDS = 0.5 ** np.arange(15, 0.75, -0.25)


def sv56_level_db(signal: NDArray[np.float64], rate_hz: int) -> float:
    """Return the active level of audio with full scale 1, shape (n,), in dB.

    Raises: ValueError if no threshold has the margin.
    """
    smoothing = math.exp(-1 / (rate_hz * TIME_CONSTANT_S))
    stage = lfilter([1 - smoothing], [1, -smoothing], np.abs(signal))
    envelope = lfilter([1 - smoothing], [1, -smoothing], stage)
    hangover = math.floor(HANGOVER_S * rate_hz + 0.5)
    energy = float(np.dot(signal, signal))
    lower: tuple[float, float] | None = None
    for threshold in THRESHOLDS:
        count = _active_samples(envelope, threshold, hangover)
        if not count:
            break
        level_db = 10 * math.log10(energy / count)
        margin_db = level_db - 20 * math.log10(threshold)
        if margin_db <= MARGIN_DB:
            if lower is None:
                return level_db
            share = (lower[1] - MARGIN_DB) / (lower[1] - margin_db)
            return lower[0] + share * (level_db - lower[0])
        lower = (level_db, margin_db)
    raise ValueError("no threshold has the margin")


def _active_samples(envelope: NDArray[np.float64], threshold: float, hangover: int) -> int:
    """Count samples above the threshold or within the hangover after such a sample."""
    above = np.flatnonzero(envelope >= threshold)
    if not len(above):
        return 0
    gaps = np.diff(np.append(above, len(envelope))) - 1
    return len(above) + int(np.sum(np.minimum(gaps, hangover)))
