"""Goodness of fit, serial dependence and the flags of an estimate."""

from dataclasses import replace

import numpy as np
import pytest

from drill.psychometrics.checks import GoodnessOfFit, goodness_of_fit, variance_inflation
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.posterior import Estimate, fit
from tests.tools.simulated_listeners import ASSUMED_CURVE, simulated_block


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def flag_keys(estimate: Estimate) -> set[str]:
    return {flag.key for flag in estimate.flags}


def test_similar_neighbours_inflate_the_variance() -> None:
    """Runs of ten right and ten wrong at one level, compared with the same trials shuffled."""
    runs = [Trial(snr_db=-3.0, right=(i // 10) % 2 == 0) for i in range(120)]
    shuffled = [runs[i] for i in np.random.default_rng(2).permutation(120)]
    dependent, independent = fit(runs, Prior(), rng()), fit(shuffled, Prior(), rng())
    assert dependent.widening > 1.5
    assert independent.widening < 1.15
    ratio = dependent.widening / independent.widening
    assert dependent.x50_db.sd == pytest.approx(independent.x50_db.sd * ratio)


def test_a_short_block_shows_no_dependence() -> None:
    assert variance_inflation([[Trial(snr_db=-3.0, right=True)] * 10], ASSUMED_CURVE) == 1.0


def test_a_curve_that_does_not_fit_is_flagged() -> None:
    proportions = {-10.0: 0.5, -5.0: 0.05, 0.0: 0.95, 5.0: 0.5}
    trials = [
        Trial(snr_db=snr_db, right=i < round(30 * p))
        for snr_db, p in proportions.items()
        for i in range(30)
    ]
    estimate = fit(trials, Prior(), rng())
    assert estimate.goodness.p < 0.01
    assert "misfit" in flag_keys(estimate)


def test_misfit_means_a_p_value_below_5_percent() -> None:
    assert GoodnessOfFit(deviance=1.0, p=0.049).is_misfit
    assert not GoodnessOfFit(deviance=1.0, p=0.05).is_misfit


@pytest.mark.slow
def test_goodness_of_fit_depends_only_on_the_seed_and_accepts_true_curves() -> None:
    trials = simulated_block(60, 6)
    first = goodness_of_fit(trials, ASSUMED_CURVE, rng())
    assert first == goodness_of_fit(trials, ASSUMED_CURVE, rng())
    misfits = [
        goodness_of_fit(simulated_block(60, seed), ASSUMED_CURVE, rng()).is_misfit
        for seed in range(100)
    ]
    assert np.mean(misfits) <= 0.1


def test_a_threshold_that_rises_within_a_block_is_flagged() -> None:
    """The second half is 8 dB worse; steady blocks are rarely flagged."""
    worse = replace(ASSUMED_CURVE, x50_db=5.0)
    moved = simulated_block(30, 1) + [
        Trial(snr_db=x, right=bool(r))
        for x in np.linspace(0, 8, 30)
        for r in [np.random.default_rng(int(10 * x)).random() < worse.proportion_correct(float(x))]
    ]
    flags = {flag.key: flag.figures for flag in fit(moved, Prior(), rng()).flags}
    assert flags["moving"]["change_db"] > 0
    steady = [fit(simulated_block(60, seed), Prior(), rng()) for seed in range(60)]
    assert np.mean(["moving" in flag_keys(estimate) for estimate in steady]) <= 0.12


def test_lapses_at_the_end_of_their_grid_are_flagged() -> None:
    high = [Trial(snr_db=x, right=i % 4 > 0) for x in (5.0, 10.0, 15.0) for i in range(40)]
    low = [Trial(snr_db=x, right=False) for x in (-15.0, -10.0) for _ in range(30)]
    middle = [Trial(snr_db=-3.0, right=i % 2 > 0) for i in range(40)]
    assert "lapses" in flag_keys(fit([*high, *low, *middle], Prior(), rng()))


def test_too_little_data_is_flagged() -> None:
    estimate = fit(simulated_block(8, 1), Prior(), rng())
    assert {"few", "wide"} <= flag_keys(estimate)
    figures = {flag.key: flag.figures for flag in estimate.flags}
    assert figures["few"] == {"n": 8, "required": 40}
    low = [Trial(snr_db=-6.0, right=i % 3 == 0) for i in range(60)]
    assert "x80-beyond" in flag_keys(fit(low, Prior(), rng()))


@pytest.mark.parametrize("right", [True, False])
def test_all_or_none_right_is_flagged(right: bool) -> None:
    trials = [Trial(snr_db=float(x), right=right) for x in range(-30, 30)]
    estimate = fit(trials, Prior(), rng())
    assert {"one-sided", "wide"} <= flag_keys(estimate)
    assert estimate.x50_db.value < -15 if right else estimate.x50_db.value > 15
