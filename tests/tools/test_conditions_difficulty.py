"""Tests of the tool that measures conditions: its thresholds and its table."""

import numpy as np
import pytest
from scipy.special import expit

from tests.tools.conditions_difficulty import Difficulty, difficulty_rows, fit_threshold_db

SNRS_DB = (-6.0, 0.0, 6.0, 12.0)


@pytest.mark.parametrize("threshold_db", [-3.0, 2.0, 7.0])
def test_the_threshold_is_that_of_the_curve(threshold_db: float) -> None:
    shares = expit(0.5 * (np.array(SNRS_DB) - threshold_db)).tolist()
    assert fit_threshold_db(SNRS_DB, shares) == pytest.approx(threshold_db, abs=0.3)


def test_without_half_of_the_calls_there_is_no_threshold() -> None:
    assert fit_threshold_db(SNRS_DB, [0.0, 0.1, 0.2, 0.2]) > 12


def test_a_row_has_the_shares_and_the_difference_from_plain() -> None:
    plain = Difficulty(name="plain", shares=(0.2, 0.8, 1.0, 1.0), threshold_db=-3.0)
    hard = Difficulty(name="hard", shares=(0.0, 0.1, 0.5, 0.9), threshold_db=6.2)
    rows = difficulty_rows([plain, hard], SNRS_DB)
    assert (
        rows[0]
        == "| conditions | -6 dB | +0 dB | +6 dB | +12 dB | 50 % at, dB | harder than plain, dB |"
    )
    assert rows[3] == "| `hard` | 0 | 10 | 50 | 90 | +6.2 | +9.2 |"
