"""8-bit arithmetic of the natural voice's model, with the same result on every processor.

The model rounds its activations to 8 bits while it runs, so that a difference in the last bit of a
sum can move a value by a whole level. Products of integers are therefore exact here: they are
computed in single precision, and every partial sum stays below 2^24 (checked when the weights are
read), so neither the order of summation nor fused operations change them. Everything else is
computed in double precision, which leaves about 1e-13 of a level.
Source: ONNX operators DynamicQuantizeLinear-11 and MatMulInteger-10.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.core.arrays import FloatArray

Singles = NDArray[np.float32]

LEVELS = 255  # steps between the least and the greatest value of an 8-bit tensor
_EXACT_BELOW = 2**24  # single precision represents every integer below this exactly
_SQRT_2 = 1.4142135381698608  # rounded to single precision, as in the model
_BLOCK = 12288  # number of elements computed together, which stay in the processor's cache
_POLYNOMIAL = (1.11915555e-06, -3.05824208e-05, -1.24853441e-04, 3.64687750e-02, 7.97828144e-01)
"""p in 2 GELU(x) = x (1 + tanh(x p(x^2))), highest power first; fitted to GELU."""
ESTIMATE_ERROR = 1e-5
"""Bound on the error of 2 GELU(x) from _POLYNOMIAL in single precision, for results up to 1. Above
1 the bound grows in proportion to the result."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Quantised:
    """A tensor of 8-bit integers: value = scale * levels.

    levels: integers less the zero point, shape (rows, columns), held in single precision.
    """

    levels: Singles
    scale: float


def quantised_weights(integers: NDArray[Any], zero_point: int, scale: float) -> Quantised:
    """Return a weight matrix of shape (inputs, outputs).

    Raises: ValueError if its products with 8-bit activations would not be exact.
    """
    levels = integers.astype(np.int32) - zero_point
    if np.abs(levels).sum(axis=0).max() * LEVELS >= _EXACT_BELOW:
        raise ValueError("the weights are too large for exact sums in single precision")
    return Quantised(levels=levels.astype(np.float32), scale=scale)


def quantise(x: FloatArray) -> Quantised:
    """Return x rounded to 8 bits, the scale chosen so that its range and 0 fit."""
    scale, zero_point = _scale_and_zero_point(float(x.min()), float(x.max()))
    levels = np.clip(np.rint(x / scale), -zero_point, LEVELS - zero_point)
    return Quantised(levels=levels.astype(np.float32), scale=scale)


def linear(x: Quantised, weights: Quantised, bias: FloatArray) -> FloatArray:
    """Return x W + b, shape (rows, outputs)."""
    result = (x.levels @ weights.levels).astype(np.float64)
    result *= x.scale * weights.scale
    result += bias
    return result


def linear_gelu(x: Quantised, weights: Quantised, bias: FloatArray) -> Quantised:
    """Return quantise(gelu(linear(x, weights, bias))), computed faster.

    Only the 8-bit levels of the result matter. An estimate in single precision gives most of them.
    Double precision is used for values so close to the boundary between two levels that the error
    of the estimate could change the level, and for the extremes, which set the scale.
    """
    sums = x.levels @ weights.levels
    factor = x.scale * weights.scale
    columns = sums.shape[1]

    def exact(indices: NDArray[np.intp]) -> FloatArray:
        return gelu(sums.reshape(-1)[indices].astype(np.float64) * factor + bias[indices % columns])

    doubled = np.empty_like(sums)
    for rows in _row_blocks(*sums.shape):
        doubled[rows] = _twice_gelu(sums[rows] * np.float32(factor) + bias.astype(np.float32))
    low, high = doubled.min(), doubled.max()
    error = ESTIMATE_ERROR * max(1.0, float(high))
    # The exact extremes are among the values whose estimates are this close to the extreme ones.
    near_low = np.flatnonzero(doubled <= low + np.float32(2 * error))
    near_high = np.flatnonzero(doubled >= high - np.float32(2 * error))
    scale, zero_point = _scale_and_zero_point(
        float(exact(near_low).min()), float(exact(near_high).max())
    )
    # 4e-5 is more than the rounding of single precision for values up to 255.
    certain = np.float32(0.5 - error / (2 * scale) - 4e-5)
    for rows in _row_blocks(*sums.shape):
        ratio = doubled[rows] * np.float32(0.5 / scale)
        levels = np.rint(ratio)
        uncertain = np.flatnonzero(np.abs(ratio - levels) > certain)
        if len(uncertain):
            levels.reshape(-1)[uncertain] = np.rint(exact(uncertain + rows.start * columns) / scale)
        np.clip(levels, np.float32(-zero_point), np.float32(LEVELS - zero_point), out=doubled[rows])
    return Quantised(levels=doubled, scale=scale)


def gelu(x: FloatArray) -> FloatArray:
    """Return x (1 + erf(x / sqrt 2)) / 2.

    erf is rounded to single precision, as ONNX's reference evaluator rounds it.
    """
    from scipy.special import erf  # slow to import

    rounded = erf(x / _SQRT_2).astype(np.float32).astype(np.float64)
    return np.asarray(x * (rounded + 1) * 0.5)


def _twice_gelu(x: Singles) -> Singles:
    """Return an estimate of 2 gelu(x), within ESTIMATE_ERROR."""
    square = x * x
    result = square * np.float32(_POLYNOMIAL[0])
    for coefficient in _POLYNOMIAL[1:-1]:
        result += np.float32(coefficient)
        result *= square
    result += np.float32(_POLYNOMIAL[-1])
    result *= x
    np.tanh(result, out=result)
    result += np.float32(1)
    result *= x
    return result


def _scale_and_zero_point(low: float, high: float) -> tuple[float, float]:
    """Return the size of a level and the level of 0 for values from low to high."""
    low, high = min(0.0, low), max(0.0, high)
    scale = (high - low) / LEVELS or 1.0
    return scale, float(np.clip(np.rint(-low / scale), 0, LEVELS))


def _row_blocks(rows: int, columns: int) -> Iterator[slice]:
    """Yield consecutive slices of rows with about _BLOCK elements each."""
    size = max(1, _BLOCK // columns)
    for start in range(0, rows, size):
        yield slice(start, min(start + size, rows))
