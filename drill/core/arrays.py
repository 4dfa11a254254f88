"""Small work on sampled signals that several rooms have in common."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike


def resampled(samples: Any, rate_hz: int, to_hz: int) -> Any:
    """Return samples, shape (n,), at another rate, in the kind of number that they are in.

    Source: scipy.signal.resample_poly, the ratio in its lowest terms.
    """
    from scipy.signal import resample_poly

    common = int(np.gcd(rate_hz, to_hz))
    return resample_poly(samples, to_hz // common, rate_hz // common)


def runs(flags: ArrayLike) -> list[tuple[int, int]]:
    """Return where flags, shape (n,), are true: first place and the one after the last of each."""
    padded = np.concatenate(([False], np.asarray(flags, np.bool_), [False]))
    edges = np.flatnonzero(np.diff(padded.astype(np.int8)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
