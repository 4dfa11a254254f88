"""Adaptive tracks of simulated listeners converge where the literature says.

The classical rules are implemented here and not in the product. If the curve is fitted to their
trials, they are no better than the product's placement, and the interval from the mean of their
reversals contains the true value in only 60 to 87 of 100 blocks.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CharacterTrial,
    next_check_level_db,
)
from drill.psychometrics.curve import Curve
from tests.tools.simulated_listeners import ASSUMED_CURVE

TRIALS = 40_000


def up_down_answers(curve: Curve, down: int, up_db: float, down_db: float) -> Iterator[bool]:
    """Yield whether each item is right under an up-down rule.

    The level falls by down_db after `down` right answers in a row and rises by up_db after a wrong
    one.
    """
    rng = np.random.default_rng(3)
    snr_db, right_in_a_row = curve.x50_db, 0
    # The levels are multiples of 0.1 dB, so the curve can be tabulated.
    probabilities = curve.proportion_correct(np.arange(-400, 401) / 10)
    for draw in rng.random(TRIALS):
        right = bool(draw < probabilities[round(10 * snr_db) + 400])
        yield right
        right_in_a_row = right_in_a_row + 1 if right else 0
        if not right:
            snr_db += up_db
        elif right_in_a_row == down:
            snr_db, right_in_a_row = snr_db - down_db, 0


@pytest.mark.parametrize("down", [1, 2, 3, 4])
def test_a_transformed_up_down_track_converges(down: int) -> None:
    """Target 0.5^(1/n) for n right in a row.

    Source: H. Levitt, J. Acoust. Soc. Am. 49 (1971), 467-477. Tolerance 0.012: finite steps lower
    the mean proportion slightly; the noise is 0.003.
    """
    answers = list(up_down_answers(ASSUMED_CURVE, down, 0.5, 0.5))
    assert np.mean(answers) == pytest.approx(0.5 ** (1 / down), abs=0.012)


@pytest.mark.parametrize("target", [0.75, 0.8])
def test_a_weighted_up_down_track_converges(target: float) -> None:
    """Target up / (up + down), for any curve and any step, because the level stays within bounds.

    Source: C. Kaernbach, Percept. Psychophys. 49 (1991), 227-229.
    """
    up_db = target / (1 - target)
    for curve in (ASSUMED_CURVE, Curve(x50_db=-3.0, slope_per_db=0.3)):
        answers = list(up_down_answers(curve, 1, up_db, 1.0))
        assert np.mean(answers) == pytest.approx(target, abs=0.004)


@pytest.mark.parametrize("start_db", [-12.0, 6.0])
def test_the_quick_check_converges_to_its_target(start_db: float) -> None:
    """It starts far below or above the target. Tolerance 0.01 (noise 0.003)."""
    curve = Curve(x50_db=-7.5, slope_per_db=0.12)
    proportions = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        trials: list[CharacterTrial] = []
        for _ in range(120):
            level = next_check_level_db(start_db, trials)
            right = int(rng.binomial(6, float(curve.proportion_correct(level))))
            trials.append(CharacterTrial(snr_db=level, right=right, sent=6))
        proportions += [float(curve.proportion_correct(trial.snr_db)) for trial in trials[40:]]
    assert np.mean(proportions) == pytest.approx(CHARACTER_TARGET, abs=0.01)
