"""Random streams: repeatable, and independent of each other."""

import numpy as np

from drill.core.random_streams import random_stream


def test_the_same_seed_and_use_give_the_same_numbers() -> None:
    assert np.array_equal(
        random_stream(5, "noise").random(100), random_stream(5, "noise").random(100)
    )


def test_another_seed_or_use_gives_uncorrelated_numbers() -> None:
    """The correlation of n independent pairs has a standard deviation of 1 / sqrt(n)."""
    first = random_stream(5, "noise").random(10_000)
    for other in (random_stream(5, "fading"), random_stream(6, "noise")):
        assert abs(np.corrcoef(first, other.random(10_000))[0, 1]) < 5 / np.sqrt(10_000)


def test_the_numbers_stay_as_released() -> None:
    """Recorded items are rendered again from their seeds, as in version 0.2.0."""
    released = [0.25500527862457967, 0.5807941225612038, 0.5256672232520511]
    assert random_stream(7, "fading").random(3).tolist() == released
