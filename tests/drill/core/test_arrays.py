"""Resampling and runs of true values."""

from itertools import groupby
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from drill.core.arrays import resample, sliding_maximum, true_runs


@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_a_tone_keeps_its_frequency_and_level(dtype: type) -> None:
    seconds = np.arange(8_000) / 8_000
    tone: NDArray[Any] = np.sin(2 * np.pi * 440 * seconds).astype(dtype)
    resampled = resample(tone, 8_000, 12_000)
    assert resampled.dtype == dtype
    assert len(resampled) == 12_000
    expected = np.sin(2 * np.pi * 440 * np.arange(12_000) / 12_000)
    middle = slice(1_000, -1_000)  # the filter rings at both ends
    assert np.max(np.abs(resampled[middle] - expected[middle])) < 0.01


def test_the_same_rate_changes_nothing() -> None:
    samples = np.random.default_rng(1).normal(size=100)
    assert np.allclose(resample(samples, 8_000, 8_000), samples)


@given(flags=st.lists(st.booleans()))
def test_runs_are_those_of_itertools_groupby(flags: list[bool]) -> None:
    runs, start = [], 0
    for value, group in groupby(flags):
        end = start + len(list(group))
        if value:
            runs.append((start, end))
        start = end
    assert true_runs(flags) == runs


@given(values=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=50), width=st.integers(1, 60))
def test_sliding_maximum_looks_back(values: list[float], width: int) -> None:
    expected = [max(values[max(0, n - width + 1) : n + 1]) for n in range(len(values))]
    assert sliding_maximum(values, width).tolist() == expected
