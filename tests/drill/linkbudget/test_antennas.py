"""Ranges of the antenna formulas; tests/outside/test_link_budget.py checks their values."""

import pytest

from drill.core.errors import UserError
from drill.linkbudget.antennas import (
    feed_line_loss_db,
    radiation_resistance_ohm,
    shortening_loss_db,
)


@pytest.mark.parametrize("length_m", [0, -1, 3, float("nan")])
def test_a_length_outside_the_formula_is_rejected(length_m: float) -> None:
    with pytest.raises(UserError, match=r"at most 2\.64 m"):
        radiation_resistance_ohm(length_m, 14.2)


def test_a_shorter_antenna_has_a_higher_loss() -> None:
    longer_db, shorter_db = (
        shortening_loss_db(radiation_resistance_ohm(length_m, 14.2), 10) for length_m in (2, 1)
    )
    assert shorter_db > longer_db + 3


def test_impossible_losses_are_rejected() -> None:
    with pytest.raises(UserError, match="loss resistance -1 ohm is out of range"):
        shortening_loss_db(5, -1)
    with pytest.raises(UserError, match="length of the feed line 2000 m is out of range"):
        feed_line_loss_db(2000, 3)
    with pytest.raises(UserError, match="loss of 100 m of feed line 101 dB is out of range"):
        feed_line_loss_db(20, 101)
