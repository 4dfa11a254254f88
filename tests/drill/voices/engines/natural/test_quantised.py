"""8-bit arithmetic: levels, exact sums, and a quick GELU that rounds like the exact one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erf

from drill.core.arrays import FloatArray
from drill.voices.engines.natural import quantised
from drill.voices.engines.natural.quantised import (
    ESTIMATE_ERROR,
    Quantised,
    gelu,
    linear,
    linear_gelu,
    quantise,
    quantised_weights,
)


def weights(seed: int, inputs: int = 64, outputs: int = 48) -> Quantised:
    integers = np.random.default_rng(seed).integers(-127, 128, (inputs, outputs), np.int8)
    return quantised_weights(integers, 0, 0.004)


@pytest.mark.parametrize(
    ("x", "levels", "zero_point"),
    [
        ((-1.0, -2.1, -1.3, -2.5, -3.34, -4.0), (191, 121, 172, 96, 42, 0), 255),
        ((1.0, 2.1, 1.3, 2.5, 3.34, 4.0, 1.5, 2.6), (64, 134, 83, 159, 213, 255, 96, 166), 0),
    ],
)
def test_the_levels_are_those_of_the_onnx_specification(
    x: tuple[float, ...], levels: tuple[int, ...], zero_point: int
) -> None:
    """Examples of ONNX's operator DynamicQuantizeLinear-11."""
    result = quantise(np.array(x))
    assert result.scale == pytest.approx(0.0156862754, rel=1e-6)
    assert (result.levels + zero_point).tolist() == list(levels)


@given(st.lists(st.integers(-50_000, 50_000), min_size=1, max_size=40))
def test_a_level_is_at_most_half_a_step_off(values: list[int]) -> None:
    x = np.array(values) / 1000
    result = quantise(x)
    assert np.abs(result.levels * result.scale - x).max() <= 0.5001 * result.scale
    assert np.ptp(result.levels) <= 255


def test_sums_are_exact_integers() -> None:
    matrix = weights(1, inputs=768)
    levels = np.random.default_rng(2).integers(-255, 256, (5, 768)).astype(np.float32)
    expected = levels.astype(np.int64) @ matrix.levels.astype(np.int64)
    result = linear(Quantised(levels=levels, scale=1.0), matrix, np.zeros(48))
    assert np.array_equal(np.rint(result / matrix.scale), expected)


def test_weights_whose_sums_would_not_be_exact_are_refused() -> None:
    with pytest.raises(ValueError, match="too large for exact sums"):
        quantised_weights(np.full((600, 1), 127, np.int8), 0, 1.0)


def test_gelu_is_the_textbook_function() -> None:
    """x Phi(x): Hendrycks and Gimpel, Gaussian error linear units, 2016."""
    x = np.linspace(-8, 8, 1001)
    assert gelu(x) == pytest.approx(x * 0.5 * (1 + erf(x / np.sqrt(2))), abs=1e-6)


def test_the_estimate_of_gelu_is_as_close_as_it_claims() -> None:
    x = np.linspace(-60, 60, 2_000_001)
    error = np.abs(quantised._twice_gelu(x.astype(np.float32)) - 2 * gelu(x.astype(np.float32)))
    assert np.all(error < ESTIMATE_ERROR * np.maximum(1, 2 * np.abs(gelu(x))))


@given(seed=st.integers(0, 2**32), rows=st.integers(1, 40), size=st.floats(0.01, 20))
def test_the_quick_gelu_gives_the_levels_of_the_exact_one(
    seed: int, rows: int, size: float
) -> None:
    rng = np.random.default_rng(seed)
    x = quantise(size * rng.standard_normal((rows, 64)))
    matrix, bias = weights(seed), np.asarray(rng.standard_normal(48))
    expected = quantise(gelu(linear(x, matrix, bias)))
    result = linear_gelu(x, matrix, bias)
    assert result.scale == expected.scale
    assert np.array_equal(result.levels, expected.levels)


def test_constant_input_is_not_a_division_by_zero() -> None:
    zeros: FloatArray = np.zeros((3, 4))
    assert not quantise(zeros).levels.any()
    result = linear_gelu(quantise(np.zeros((2, 64))), weights(3), np.zeros(48))
    assert not result.levels.any()
