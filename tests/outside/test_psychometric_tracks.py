"""Simulated listeners under classical rules end where the literature says; the quick check too.

The rules stand here and not in the product: fitted, they are no better than what is offered, and
the mean of their reversals has an interval that holds the truth in 60 to 87 of 100 blocks.
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
from drill.psychometrics.grid import Trial
from tests.tools.simulated_listeners import ASSUMED, SimulatedListener

TRIALS = 40_000


def track(listener: SimulatedListener, down: int, up_db: float, down_db: float) -> Iterator[Trial]:
    """Yield the trials of a rule: down after so many right in a row, up after one wrong."""
    rng = np.random.default_rng(3)
    snr_db, run = listener.curve.x50_db, 0
    draws = rng.random(TRIALS)
    # The curve is tabulated: the levels are whole tenths of a dB.
    table = listener.curve.probability(np.arange(-400, 401) / 10)
    for draw in draws:
        right = bool(draw < table[round(10 * snr_db) + 400])
        yield Trial(snr_db=snr_db, right=right)
        run = run + 1 if right else 0
        if not right:
            snr_db += up_db
        elif run == down:
            snr_db, run = snr_db - down_db, 0


@pytest.mark.parametrize("down", [1, 2, 3, 4])
def test_transformed_up_down(down: int) -> None:
    """0.5^(1/n) for n right in a row. Source: H. Levitt, J. Acoust. Soc. Am. 49 (1971), 467-477.

    Tolerance 0.012: the mean share lies a little lower with finite steps; noise is 0.003.
    """
    shares = [t.right for t in track(SimulatedListener(name="a", curve=ASSUMED), down, 0.5, 0.5)]
    assert np.mean(shares) == pytest.approx(0.5 ** (1 / down), abs=0.012)


@pytest.mark.parametrize("target", [0.75, 0.8])
def test_weighted_up_down(target: float) -> None:
    """Share right = up/(up + down). Source: C. Kaernbach, Percept. Psychophys. 49 (1991), 227-229.

    The level moves within bounds, so that this holds for any curve and any step.
    """
    up_db = target / (1 - target)
    for curve in (ASSUMED, Curve(x50_db=-3.0, slope_per_db=0.3)):
        shares = [t.right for t in track(SimulatedListener(name="a", curve=curve), 1, up_db, 1.0)]
        assert np.mean(shares) == pytest.approx(target, abs=0.004)


@pytest.mark.parametrize("start_db", [-12.0, 6.0])
def test_the_quick_check_goes_to_its_target(start_db: float) -> None:
    """From far off on either side; tolerance 0.01 of the characters (noise 0.003)."""
    curve = Curve(x50_db=-7.5, slope_per_db=0.12)
    shares = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        trials: list[CharacterTrial] = []
        for _ in range(120):
            level = next_check_level_db(start_db, trials)
            right = int(rng.binomial(6, float(curve.probability(level))))
            trials.append(CharacterTrial(snr_db=level, right=right, sent=6))
        shares += [float(curve.probability(t.snr_db)) for t in trials[40:]]
    assert np.mean(shares) == pytest.approx(CHARACTER_TARGET, abs=0.01)
