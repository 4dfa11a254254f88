"""Random numbers by index: the same however they are reached, and normal."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from drill.core.indexed_random import BLOCK, IndexedRandom


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 3 * BLOCK)), max_size=8))
def test_skipping_leaves_the_rest_as_it_is(steps: list[tuple[bool, int]]) -> None:
    total = sum(count for _, count in steps)
    expected = IndexedRandom(7, 1).standard_normal(total)
    numbers, index = IndexedRandom(7, 1), 0
    for draws, count in steps:
        if draws:
            assert np.array_equal(numbers.standard_normal(count), expected[index : index + count])
        else:
            numbers.skip(count)
        index += count


def test_the_numbers_are_normal_and_independent() -> None:
    """Kolmogorov-Smirnov test for the normal distribution; correlations of at most four sigma."""
    from scipy.stats import kstest

    count = 100_000
    first, second = (stream.standard_normal(count) for stream in IndexedRandom(3).spawn(2))
    assert kstest(first, "norm").pvalue > 0.001
    limit = 4 / np.sqrt(count)
    assert abs(np.corrcoef(first, second)[0, 1]) < limit
    for lag in (1, BLOCK):
        assert abs(np.corrcoef(first[lag:], first[:-lag])[0, 1]) < limit


def test_keys_give_different_numbers() -> None:
    keys = [(1,), (2,), (1, 0), (1, 1), (1, 2)]
    numbers = [tuple(IndexedRandom(*key).standard_normal(2)) for key in keys]
    assert len(set(numbers)) == len(keys)
    assert len({IndexedRandom(*key).random() for key in keys}) == len(keys)
