"""Results as data, computed from trials."""

import pytest

from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import Interval
from drill.session.results import (
    POWERS_W,
    ThresholdChange,
    change_resolution,
    compare_alternatives,
    measure_block,
)

PRIOR = Prior()


def trials(right_from_db: float) -> list[Trial]:
    """Return 40 trials of a trainee who copies everything from this SNR on, and nothing below."""
    levels = [right_from_db + step / 4 for step in range(-20, 20)]
    return [Trial(snr_db=level, right=level >= right_from_db) for level in levels]


def test_a_block_without_comparable_ones_has_no_change() -> None:
    result = measure_block(trials(-3.0), PRIOR, (), seed=1)
    assert result.estimate.x50_db.value == pytest.approx(-3.0, abs=0.5)
    assert (result.pooled, result.change) == (None, None)
    assert sum(row.n for row in result.bins) == 40
    assert [power.watts for power in result.powers] == list(POWERS_W)
    # On a steep curve, half of the calls at 100 W mean almost none at 20 W, and none at 5 W.
    assert 0.5 > result.powers[0].share.value > result.powers[1].share.value


def test_a_change_is_shown_from_the_smallest_detectable_one_on() -> None:
    difference = Interval(value=-2.0, low=-4.0, high=0.0)
    assert ThresholdChange(difference=difference, smallest_db=2.0).shown
    assert not ThresholdChange(difference=difference, smallest_db=2.01).shown


def test_the_resolution_grows_with_the_variation_between_days() -> None:
    """By hand: 1.96 x sqrt(2) x 0.8 dB, and 2 x (2.80 x 0.8)^2 blocks; with days SD 1 dB."""
    alone, with_days = change_resolution(0.8), change_resolution(0.8, 0.6)
    assert alone.smallest_db == pytest.approx(2.22, abs=0.005)
    assert (alone.blocks, alone.includes_days) == (11, False)
    assert with_days.smallest_db == pytest.approx(2.77, abs=0.005)
    assert (with_days.blocks, with_days.includes_days) == (16, True)


def test_a_block_says_which_changes_can_be_shown() -> None:
    result = measure_block(trials(-3.0), PRIOR, (), seed=1)
    assert result.resolution == change_resolution(result.estimate.x50_db.sd)


def test_differences_are_from_the_first_alternative() -> None:
    result = compare_alternatives({"a": trials(-6.0), "b": trials(-2.0), "c": []}, PRIOR, seed=1)
    assert [entry.label for entry in result.alternatives] == ["a", "b", "c"]
    assert result.alternatives[2].estimate is None
    (difference,) = result.differences
    assert (difference.label, difference.reference) == ("b", "a")
    assert difference.interval.value == pytest.approx(4.0, abs=0.5)
    assert 0 < difference.smallest_db < 4


def test_without_an_estimate_of_the_first_there_is_no_difference() -> None:
    result = compare_alternatives({"a": [], "b": trials(-2.0)}, PRIOR, seed=1)
    assert result.differences == ()
