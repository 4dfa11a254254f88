"""The fading tap as a stream; tests/outside/test_f1487.py checks its statistics."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.fft import next_fast_len

from drill.core.indexed_random import IndexedRandom
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.fading_taps import FadingTap, fast_length


def test_requests_of_any_size_give_the_same_process() -> None:
    whole = FadingTap(0.7, 100, np.random.default_rng(1)).take(1000)
    tap = FadingTap(0.7, 100, np.random.default_rng(1))
    parts = np.concatenate([tap.take(count) for count in (1, 0, 7, 492, 500)])
    assert np.array_equal(parts, whole)


@pytest.mark.parametrize("numbers", [np.random.default_rng, IndexedRandom])
@given(counts=st.lists(st.tuples(st.booleans(), st.integers(0, 5000)), max_size=5))
def test_skipping_leaves_the_rest_of_the_process_as_it_is(
    numbers: Callable[[int], np.random.Generator | IndexedRandom], counts: list[tuple[bool, int]]
) -> None:
    whole = FadingTap(0.7, 100, numbers(1)).take(26_000)
    tap, position = FadingTap(0.7, 100, numbers(1)), 0
    for taken, count in counts:
        if taken:
            tap.take(count)
        else:
            tap.skip(count)
        position += count
    assert np.array_equal(tap.take(100), whole[position : position + 100])


def test_the_power_scales_the_process() -> None:
    unit = FadingTap(1.0, 100, np.random.default_rng(1)).take(500)
    quarter = FadingTap(1.0, 100, np.random.default_rng(1), power=0.25).take(500)
    assert np.allclose(quarter, unit / 2, rtol=1e-6)


@pytest.mark.parametrize("spread_hz", [0.0, -1.0, 600.0, float("nan")])
def test_a_spread_out_of_range_is_rejected(spread_hz: float) -> None:
    with pytest.raises(ValueError, match=r"must be above 0 and at most 500 Hz"):
        FadingTap(spread_hz, BASEBAND_RATE_HZ, np.random.default_rng(0))


@given(least=st.integers(1, 100_000))
def test_fast_lengths_are_those_of_scipy(least: int) -> None:
    """Source: scipy.fft.next_fast_len."""
    assert fast_length(least) == next_fast_len(least)
