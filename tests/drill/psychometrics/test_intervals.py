"""Intervals of proportions, differences, changes and trends."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from drill.core.errors import UserError
from drill.psychometrics.intervals import (
    Interval,
    blocks_to_show_change,
    change_between_days,
    difference_interval,
    fit_trend,
    posterior_summary,
    smallest_detectable_change,
    wilson_interval,
)


@given(st.integers(1, 500), st.data())
def test_intervals_of_proportions_stay_within_their_range(n: int, data: st.DataObject) -> None:
    right = data.draw(st.integers(0, n))
    proportion = wilson_interval(right, n)
    assert 0 <= proportion.low <= proportion.value <= proportion.high <= 1
    difference = difference_interval(proportion, wilson_interval(n - right, n))
    assert -1 <= difference.low <= difference.value <= difference.high <= 1


def test_half_widths_of_a_difference_add_in_quadrature() -> None:
    a = Interval(value=1.0, low=-2.0, high=5.0)
    b = Interval(value=0.5, low=-3.5, high=3.5)
    assert difference_interval(a, b) == Interval(
        value=0.5, low=0.5 - math.hypot(3, 3), high=0.5 + 4 * 2**0.5
    )


def test_the_summary_of_a_normal_density_is_normal() -> None:
    x = np.arange(-10, 10.01, 0.25)
    summary = posterior_summary(x, np.exp(-0.5 * ((x - 1) / 0.5) ** 2))
    assert (summary.value, summary.sd) == pytest.approx((1.0, 0.5), abs=1e-6)
    assert (summary.low, summary.high) == pytest.approx((1 - 0.98, 1 + 0.98), abs=0.03)
    assert summary.widened(2.0).high == pytest.approx(1 + 2 * (summary.high - 1))


def test_a_trend_is_a_weighted_line_with_a_day_to_day_sd() -> None:
    days = [0.0, 7.0, 14.0, 21.0, 28.0]
    flat = fit_trend(days, [1.0, 0.0, 1.0, 0.0, 1.0], [1.0] * 5)
    assert flat.tau_db == 0 and flat.per_week_db.value == pytest.approx(0)
    falling = fit_trend(days, [0.0, -1.0, -2.0, -3.0, -4.0], [0.3] * 5)
    assert falling.per_week_db.value == pytest.approx(-1.0)
    assert falling.per_week_db.high < 0
    assert falling.smallest_per_week_db == pytest.approx(-1.0 - falling.per_week_db.low)
    scattered = fit_trend(days, [0.0, 3.0, -3.0, 3.0, 0.0], [0.3] * 5)
    # 25.2 is the residual sum of squares, with 3 degrees of freedom.
    assert scattered.tau_db == pytest.approx((25.2 / 3 - 0.3**2) ** 0.5)


@given(
    blocks=st.lists(
        st.tuples(st.floats(0, 200), st.floats(-9, 9), st.floats(0.2, 2.0)),
        min_size=4,
        max_size=30,
        unique_by=lambda block: round(block[0]),
    )
)
def test_the_day_to_day_sd_is_the_root_of_its_equation(
    blocks: list[tuple[float, float, float]],
) -> None:
    """Source: scipy.optimize.brentq and numpy.polyfit."""
    days, values, sds = np.array(blocks).T

    def excess(tau2: float) -> float:
        weights = 1 / np.sqrt(sds**2 + tau2)
        line = np.polynomial.Polynomial.fit(days, values, 1, w=weights)
        return float(np.sum((weights * (values - line(days))) ** 2)) - (len(days) - 2)

    expected = 0.0 if excess(0.0) <= 0 else brentq(excess, 0.0, 1e4) ** 0.5
    assert fit_trend(days, values, sds).tau_db == pytest.approx(expected, abs=1e-4)


def test_the_smallest_detectable_change_of_two_blocks() -> None:
    assert smallest_detectable_change(0.55, 0.55) == pytest.approx(1.52, abs=0.01)


def test_a_certain_threshold_needs_one_block_on_each_side() -> None:
    assert blocks_to_show_change(1.0, 0.0) == 1


def test_the_median_of_a_skewed_posterior_lies_below_its_mean() -> None:
    values = np.arange(10.0)
    weights = np.exp2(-values)
    mean, median = (posterior_summary(values, weights, median=m) for m in (False, True))
    assert median.value < mean.value
    assert (median.low, median.high, median.sd) == (mean.low, mean.high, mean.sd)


@pytest.mark.parametrize(
    "call",
    [
        lambda: wilson_interval(1, 0),
        lambda: wilson_interval(3, 2),
        lambda: wilson_interval(-1, 2),
        lambda: smallest_detectable_change(-1.0, 1.0),
        lambda: smallest_detectable_change(1.0, 1.0, blocks_b=0),
        lambda: blocks_to_show_change(0.0, 1.0),
        lambda: blocks_to_show_change(1.0, -1.0),
        lambda: fit_trend([1, 2, 3], [1, 2, 3], [1, 1, 1]),
        lambda: fit_trend([1, 1, 1, 1], [1, 2, 3, 4], [1, 1, 1, 1]),
        lambda: fit_trend([1, 2, 3, 4], [1, 2, 3, 4], [1, 1, 0, 1]),
    ],
)
def test_invalid_input_gives_a_one_line_error(call: Callable[[], object]) -> None:
    with pytest.raises(UserError) as error:
        call()
    assert "\n" not in str(error.value) and str(error.value)


def test_a_change_between_days_includes_the_variation_between_them() -> None:
    """Variances add: SDs of 0.6 and 0.8 dB and twice a day-to-day SD of 1 dB."""
    first, last = (
        Interval(value=value, low=value - 1.96 * sd, high=value + 1.96 * sd)
        for value, sd in ((-2.0, 0.6), (-5.0, 0.8))
    )
    assert change_between_days(last, first, tau=0.0) == difference_interval(last, first)
    change = change_between_days(last, first, tau=1.0)
    assert change.value == pytest.approx(-3.0)
    assert change.high - change.value == pytest.approx(1.96 * math.sqrt(1 + 2), abs=0.001)
    assert change.value - change.low == pytest.approx(1.96 * math.sqrt(1 + 2), abs=0.001)
