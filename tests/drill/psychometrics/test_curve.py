"""The psychometric function: shape, quantiles and slope."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.curve import Curve, snr_at

CURVES = st.builds(
    Curve,
    x50_db=st.floats(-20, 20),
    slope_per_db=st.floats(0.03, 0.6),
    lapse=st.floats(0, 0.2),
    guess_rate=st.floats(0, 0.3),
)


def quantile_db(curve: Curve, proportion: float) -> float:
    return float(
        snr_at(proportion, curve.x50_db, curve.slope_per_db, curve.lapse, curve.guess_rate)
    )


@given(CURVES, st.lists(st.floats(-50, 50), min_size=2, max_size=20))
def test_a_curve_rises_between_guess_rate_and_lapses(curve: Curve, levels: list[float]) -> None:
    proportions = curve.proportion_correct(np.sort(levels))
    assert (np.diff(proportions) >= 0).all()
    assert (proportions >= curve.guess_rate - 1e-12).all()
    assert (proportions <= 1 - curve.lapse + 1e-12).all()


@given(CURVES, st.floats(0.01, 0.99))
def test_quantiles_refer_to_the_absolute_curve(curve: Curve, proportion: float) -> None:
    snr_db = quantile_db(curve, proportion)
    if curve.guess_rate < proportion < 1 - curve.lapse:
        assert math.isfinite(snr_db)
        if abs(snr_db) < 100:
            assert float(curve.proportion_correct(snr_db)) == pytest.approx(proportion, abs=1e-6)
    else:
        assert math.isnan(snr_db)


@given(CURVES)
def test_threshold_and_slope_refer_to_the_absolute_curve(curve: Curve) -> None:
    assert quantile_db(curve, 0.5) == pytest.approx(curve.x50_db)
    near = curve.proportion_correct(curve.x50_db + np.array([-1e-4, 1e-4]))
    assert (near[1] - near[0]) / 2e-4 == pytest.approx(curve.slope_per_db, rel=1e-4)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("x50_db", math.inf),
        ("slope_per_db", 0.0),
        ("slope_per_db", math.inf),
        ("lapse", 0.5),
        ("guess_rate", -0.1),
        ("guess_rate", 0.5),
    ],
)
def test_parameters_out_of_range_are_refused(field: str, value: float) -> None:
    valid = {"x50_db": 0.0, "slope_per_db": 0.1}
    with pytest.raises(UserError) as error:
        Curve(**{**valid, field: value})
    assert error.value.field == field
    assert "\n" not in str(error.value) and str(value) in str(error.value)
