"""The prior for a new block, from the estimates of earlier ones."""

from dataclasses import replace

import numpy as np
import pytest

from drill.core.errors import UserError
from drill.psychometrics.grid import Prior
from drill.psychometrics.posterior import fit
from drill.psychometrics.remembered_prior import prior_from_estimates
from tests.tools.simulated_listeners import ASSUMED_CURVE, simulated_block


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def test_the_next_prior_remembers_the_slope_but_not_the_threshold() -> None:
    steep = replace(ASSUMED_CURVE, slope_per_db=0.3)
    estimates = [
        fit(simulated_block(60, seed, steep), Prior().for_estimates(), rng()) for seed in range(4)
    ]
    prior = prior_from_estimates(estimates)
    assert 0.18 < prior.slope_per_db < 0.4
    assert prior.slope_log_sd == pytest.approx(0.2)
    assert prior.threshold_sd_db == Prior().threshold_sd_db
    assert prior.lapse_weights == Prior().lapse_weights
    assert prior.threshold_mean_db == pytest.approx(estimates[-1].x50_db.value)
    after_one = prior_from_estimates(estimates[:1])
    assert 0.2 < after_one.slope_log_sd < Prior().slope_log_sd
    later = fit(simulated_block(60, 9, steep), prior, rng())
    assert later.slope_per_db.sd < estimates[0].slope_per_db.sd


def test_without_an_earlier_block_there_is_no_slope_to_remember() -> None:
    with pytest.raises(UserError, match="no earlier block"):
        prior_from_estimates([])
