"""Operations on sampled signals that several packages need."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def resample(samples: Any, rate_hz: int, new_rate_hz: int) -> Any:
    """Return samples, shape (n,), at another sampling rate; the dtype stays.

    Source: scipy.signal.resample_poly with the ratio in its lowest terms.
    """
    from scipy.signal import resample_poly  # slow to import

    common = int(np.gcd(rate_hz, new_rate_hz))
    return resample_poly(samples, new_rate_hz // common, rate_hz // common)


def sliding_maximum(values: ArrayLike, width: int) -> FloatArray:
    """Return for each value, shape (n,), the highest of the last `width` values, itself included.

    width: at least 1. Fewer values precede the first ones.
    """
    result = np.concatenate([np.full(width - 1, -np.inf), np.asarray(values, np.float64)])
    covered = 1
    while covered < width:
        step = min(covered, width - covered)
        result = np.maximum(result[step:], result[:-step])
        covered += step
    return result


def true_runs(flags: ArrayLike) -> list[tuple[int, int]]:
    """Return the runs of true values in flags, shape (n,): first index and end (exclusive)."""
    padded = np.concatenate(([False], np.asarray(flags, np.bool_), [False]))
    edges = np.flatnonzero(np.diff(padded.astype(np.int8)))
    return [(int(first), int(end)) for first, end in edges.reshape(-1, 2)]
