"""The estimate from whole items: properties that hold for any answers."""

import math
from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import Quantity
from drill.psychometrics.posterior import (
    Estimate,
    fit,
    pool,
    proportion_at_power,
    threshold_interval,
)
from tests.tools.simulated_listeners import (
    ASSUMED_CURVE,
    pooled_simulated_blocks,
    simulated_block,
)

TRIALS = st.lists(
    st.builds(Trial, snr_db=st.floats(-20, 20), right=st.booleans()), min_size=1, max_size=80
)


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def quantities(estimate: Estimate) -> list[Quantity]:
    values = [getattr(estimate, field.name) for field in fields(estimate)]
    return [value for value in values if isinstance(value, Quantity)]


@pytest.fixture(scope="module")
def eight_blocks() -> Estimate:
    """Return the estimate from 480 trials of the assumed listener."""
    return fit(pooled_simulated_blocks(60, range(8)), Prior(), rng())


@given(TRIALS, st.randoms(use_true_random=False))
@settings(max_examples=30)
def test_the_order_of_trials_changes_only_the_widening(
    trials: list[Trial], shuffler: object
) -> None:
    shuffled = sorted(trials, key=lambda _: shuffler.random())  # type: ignore[attr-defined]
    first, second = fit(trials, Prior(), rng()), fit(shuffled, Prior(), rng())
    assert [q.value for q in quantities(first)] == [q.value for q in quantities(second)]
    unwidened = [estimate.x50_db.widened(1 / estimate.widening) for estimate in (first, second)]
    assert unwidened[0].low == pytest.approx(unwidened[1].low, abs=1e-9)


@given(TRIALS, st.floats(-30, 30), st.floats(0, 0.4))
@settings(max_examples=30)
def test_every_figure_is_finite_and_inside_its_interval(
    trials: list[Trial], threshold_mean_db: float, guess_rate: float
) -> None:
    prior = Prior(threshold_mean_db=threshold_mean_db, guess_rate=guess_rate)
    estimate = fit(trials, prior, rng())
    for quantity in [*quantities(estimate), estimate.proportion_correct(-3.0)]:
        values = (quantity.low, quantity.value, quantity.high, quantity.sd)
        assert all(map(math.isfinite, values))
        assert quantity.low <= quantity.value <= quantity.high
        assert quantity.sd >= 0
    assert 0 <= estimate.goodness.p <= 1
    assert estimate.widening >= 1


def test_intervals_narrow_with_more_items() -> None:
    trials = simulated_block(400, 5)
    estimates = [fit(trials[:n], Prior(), rng()) for n in (20, 60, 150, 400)]
    widths = [estimate.x50_db.high - estimate.x50_db.low for estimate in estimates]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.4 * widths[1] * 1.25


def test_many_items_recover_the_true_curve(eight_blocks: Estimate) -> None:
    estimate = eight_blocks
    assert estimate.x50_db.value == pytest.approx(-3.0, abs=0.6)
    assert estimate.x80_db.value == pytest.approx(-0.63, abs=0.8)
    assert estimate.slope_per_db.value == pytest.approx(0.15, rel=0.25)
    right = sum(trial.right for trial in pooled_simulated_blocks(60, range(8)))
    assert (estimate.n, estimate.right) == (480, right)
    proportion = estimate.proportion_correct(-3.0)
    assert proportion.low < 0.5 <= proportion.high
    assert proportion.high - proportion.low < 0.2
    assert estimate.proportion_correct(-60.0).value < 0.001


def test_levels_between_grid_steps_are_not_rounded_to_them() -> None:
    """With all levels 0.13 dB higher, the threshold is 0.13 dB higher."""
    trials = simulated_block(60, 2)
    higher = [replace(trial, snr_db=trial.snr_db + 0.13) for trial in trials]
    flat = Prior(threshold_sd_db=1e3)
    change_db = fit(higher, flat, rng()).x50_db.value - fit(trials, flat, rng()).x50_db.value
    assert change_db == pytest.approx(0.13, abs=0.005)


def test_the_guess_rate_of_the_prior_explains_right_answers_by_guessing() -> None:
    trials = simulated_block(600, 3, Curve(x50_db=-3.0, slope_per_db=0.12, guess_rate=0.25))
    estimate = fit(trials, Prior(guess_rate=0.25), rng())
    assert estimate.x50_db.low <= -3.0 <= estimate.x50_db.high
    assert estimate.proportion_correct(-40.0).value == pytest.approx(0.25, abs=0.01)
    assert fit(trials, Prior(), rng()).proportion_correct(-40.0).value < 0.01


def test_warm_ups_do_not_count() -> None:
    trials = simulated_block(40, 4)
    warm_ups = [Trial(snr_db=10.0, right=False, warm_up=True)] * 5
    without, with_warm_ups = (fit(t, Prior(), rng()) for t in (trials, [*warm_ups, *trials]))
    assert (without.x50_db, without.n) == (with_warm_ups.x50_db, with_warm_ups.n)


def test_a_change_of_power_shifts_along_the_curve(eight_blocks: Estimate) -> None:
    same = proportion_at_power(eight_blocks, 0.0)
    fifth = proportion_at_power(eight_blocks, 10 * math.log10(20 / 100))
    assert same is not None and fifth is not None
    assert same.value == pytest.approx(0.5)
    expected = float(ASSUMED_CURVE.proportion_correct(-3 - 6.9897))
    assert fifth.value == pytest.approx(expected, abs=0.02)
    assert fifth.low < fifth.value < fifth.high
    assert proportion_at_power(eight_blocks, -7.0, reference=0.99) is None


def test_two_pooled_blocks_are_one_fit_and_flagged() -> None:
    blocks = [simulated_block(60, 1), simulated_block(60, 2)]
    pooled = pool(blocks, Prior(), rng())
    together = fit([*blocks[0], *blocks[1]], Prior(), rng())
    assert pooled.tau_db is None
    assert "days" in {flag.key for flag in pooled.flags}
    assert pooled.x50_db.value == pytest.approx(together.x50_db.value)


def test_differences_between_days_widen_the_interval() -> None:
    alike = [simulated_block(60, seed) for seed in range(6)]
    apart = [
        [replace(trial, snr_db=trial.snr_db + 6 * (i % 2) - 3) for trial in block]
        for i, block in enumerate(alike)
    ]
    near, far = pool(alike, Prior(), rng()), pool(apart, Prior(), rng())
    assert near.tau_db is not None and far.tau_db is not None
    assert near.tau_db.value < 1
    assert far.tau_db.value > 2
    assert far.x50_db.sd > 2 * near.x50_db.sd


@given(TRIALS)
@settings(max_examples=20)
def test_the_threshold_computed_alone_equals_that_of_the_whole_estimate(
    trials: list[Trial],
) -> None:
    assert threshold_interval(trials, Prior()) == fit(trials, Prior(), rng()).x50_db


@pytest.mark.parametrize(
    "call",
    [
        lambda: fit([], Prior(), rng()),
        lambda: fit([Trial(snr_db=1.0, right=True, warm_up=True)], Prior(), rng()),
        lambda: fit([Trial(snr_db=math.nan, right=True)], Prior(), rng()),
        lambda: fit([Trial(snr_db=51.0, right=True)], Prior(), rng()),
        lambda: threshold_interval([], Prior()),
    ],
)
def test_invalid_input_gives_a_one_line_error(call: Callable[[], object]) -> None:
    with pytest.raises(UserError) as error:
        call()
    assert "\n" not in str(error.value) and str(error.value)
