"""Prior, likelihood and posterior on the grid."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.core.errors import UserError
from drill.core.structuring import from_data, to_data
from drill.psychometrics.curve import proportion_correct_at
from drill.psychometrics.grid import (
    ESTIMATE_LAPSE_WEIGHTS,
    ESTIMATE_SLOPE_LOG_SD,
    LAPSE_GRID,
    SLOPE_GRID_PER_DB,
    Prior,
    Trial,
    count_by_level,
    expected_proportion_correct,
    log_likelihood,
    posterior_weights,
)
from drill.psychometrics.posterior import fit
from tests.tools.simulated_listeners import simulated_block


def test_the_tabulated_likelihood_equals_that_of_the_curve() -> None:
    """The table has an offset for each level, and separate parts for right and wrong answers."""
    prior = Prior(threshold_mean_db=1.3, guess_rate=0.1)
    trials = [
        Trial(snr_db=-3.17, right=True),
        Trial(snr_db=-3.17, right=False),
        Trial(snr_db=4.4, right=True),
        Trial(snr_db=0.0, right=False),
    ]
    expected = np.zeros((len(prior.threshold_grid_db), len(SLOPE_GRID_PER_DB) * len(LAPSE_GRID)))
    for trial in trials:
        p = proportion_correct_at(
            trial.snr_db,
            prior.threshold_grid_db[:, None, None],
            SLOPE_GRID_PER_DB[:, None],
            LAPSE_GRID,
            prior.guess_rate,
        )
        p = np.clip(p.reshape(expected.shape), 1e-6, 1 - 1e-6)
        expected += np.log(p if trial.right else 1 - p)
    assert log_likelihood(prior, trials) == pytest.approx(expected, abs=1e-8)


def test_the_posterior_prediction_agrees_with_the_estimate() -> None:
    trials = simulated_block(300, 8)
    weights = posterior_weights(Prior(), trials)
    estimate = fit(trials, Prior(), np.random.default_rng(1))
    predicted = expected_proportion_correct(Prior(), weights, -2.5)
    assert predicted == pytest.approx(estimate.proportion_correct(-2.5).value, abs=1e-4)


@given(st.lists(st.builds(Trial, snr_db=st.floats(-50, 50), right=st.booleans()), max_size=30))
def test_counts_by_level_add_up(trials: list[Trial]) -> None:
    levels, right, wrong = count_by_level([*trials, Trial(snr_db=0, right=True, warm_up=True)])
    assert (np.diff(levels) > 0).all()
    assert right.sum() == sum(trial.right for trial in trials)
    assert (right + wrong).sum() == len(trials)


def test_a_stored_prior_keeps_the_keys_of_version_0_2_0() -> None:
    prior = Prior(threshold_mean_db=-4.5, threshold_sd_db=5.0, guess_rate=0.01)
    data = to_data(prior)
    assert data == {
        "guess_db": -4.5,
        "guess_sd_db": 5.0,
        "slope_per_db": 0.12,
        "slope_log_sd": 1.5,
        "chance": 0.01,
        "lapse_weights": [0.4, 0.25, 0.18, 0.1, 0.07],
    }
    assert from_data(Prior, data) == prior


def test_an_estimate_forgets_the_slope_and_the_lapses_of_a_placement_but_not_its_threshold() -> (
    None
):
    remembered = Prior(
        threshold_mean_db=-4.5,
        slope_per_db=0.2,
        slope_log_sd=0.2,
        guess_rate=0.01,
        lapse_weights=(0.2, 0.25, 0.25, 0.2, 0.1),
    )
    assert remembered.for_estimates() == Prior(
        threshold_mean_db=-4.5,
        slope_log_sd=ESTIMATE_SLOPE_LOG_SD,
        guess_rate=0.01,
        lapse_weights=ESTIMATE_LAPSE_WEIGHTS,
    )


def test_a_prior_of_version_0_2_0_excludes_the_slopes_that_its_grid_did_not_have() -> None:
    """Its grid was numpy.geomspace(0.03, 0.6, 19)."""
    released = Prior(slope_per_db=0.14, slope_log_sd=0.5)
    assert SLOPE_GRID_PER_DB[3:] == pytest.approx(np.geomspace(0.03, 0.6, 19))
    weights = np.exp(released.log_density()).sum(axis=(0, 2))
    assert (weights[:3] == 0).all() and (weights[3:] > 0).all()
    assert (np.exp(Prior().log_density()).sum(axis=(0, 2)) > 0).all()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("threshold_mean_db", math.nan),
        ("threshold_mean_db", 30.1),
        ("threshold_sd_db", 0.0),
        ("slope_per_db", 0.0),
        ("slope_log_sd", 0.0),
        ("guess_rate", 0.5),
        ("lapse_weights", (1.0,)),
    ],
)
def test_prior_parameters_out_of_range_are_refused(field: str, value: object) -> None:
    with pytest.raises(UserError) as error:
        Prior(**{field: value})  # type: ignore[arg-type]
    assert error.value.field == field
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("snr_db", [math.nan, 51.0, -50.5])
def test_a_trial_beyond_the_snr_range_is_refused(snr_db: float) -> None:
    with pytest.raises(UserError, match="dB is out of range") as error:
        posterior_weights(Prior(), [Trial(snr_db=snr_db, right=True)])
    assert error.value.field == "snr_db"
