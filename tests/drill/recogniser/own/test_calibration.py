"""Calibration of confidences: curves, and fitting them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.recogniser.own.calibration import SEQUENCE, UNIT, Calibration
from tests.tools.recogniser_sweep.calibrate import calibration_error, fit_calibration


@given(st.floats(0, 1), st.floats(0, 1))
def test_shares_rise_with_the_probability(one: float, other: float) -> None:
    low, high = sorted((one, other))
    for curve in (SEQUENCE, UNIT):
        assert 0 <= curve.share_right(low) <= curve.share_right(high) <= 1


def test_a_curve_without_change_returns_the_probability() -> None:
    assert Calibration(slope=1, offset=0).share_right(0.3) == pytest.approx(0.3)


def test_fitting_finds_a_known_curve() -> None:
    """Right answers are drawn with a curve; the fit returns it, as statsmodels' Logit does."""
    import numpy as np
    from statsmodels.discrete.discrete_model import Logit

    rng = np.random.default_rng(1)
    true = Calibration(slope=0.7, offset=-0.5)
    probabilities = rng.uniform(0.01, 0.99, 4000)
    right = rng.random(4000) < [true.share_right(p) for p in probabilities]
    pairs = list(zip(probabilities.tolist(), right.tolist(), strict=True))
    fitted = fit_calibration(pairs)
    odds = np.log(probabilities / (1 - probabilities))
    reference = Logit(right, np.column_stack([odds, np.ones(4000)])).fit(disp=0).params
    assert (fitted.slope, fitted.offset) == pytest.approx(tuple(reference), abs=2e-3)
    assert fitted.slope == pytest.approx(0.7, abs=0.06)
    assert calibration_error(pairs, fitted) < 0.02
