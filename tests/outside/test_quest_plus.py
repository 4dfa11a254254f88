"""The fit of a block against the published example of another Bayesian method, QUEST+.

Source: A. B. Watson, QUEST+: a general multidimensional Bayesian adaptive psychometric method,
J. Vis. 17(3):10 (2017), Example 3, "Estimation of mean, standard deviation, and lapse". The trials
are those in tests/test_qp.py, test_mean_sd_lapse, of the library questplus 2023.1 (GPL-3.0), which
reproduces the published sequence. The example's function is a normal distribution whose lapse and
guess rates are equal.
"""

import math

import numpy as np
import pytest

from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.posterior import Estimate, fit

WATSON_TRIALS = (
    (-8, 0, 5), (-7, 1, 12), (-6, 0, 5), (-5, 2, 13), (-4, 4, 28), (-3, 1, 1), (-2, 1, 1),
    (-1, 0, 1), (0, 1, 2), (1, 1, 1), (2, 4, 6), (3, 10, 13), (4, 19, 25), (5, 15, 15),
)  # fmt: skip
"""Level, number right, number of trials; 128 trials in all."""
PUBLISHED_MEAN, PUBLISHED_SD, PUBLISHED_LAPSE = 0.0, 4.0, 0.01
"""Mode of the published posterior, on a grid with steps of 1, 1 and 0.01."""
QUEST_PLUS_MEDIAN, QUEST_PLUS_POSTERIOR_SD, QUEST_PLUS_SD = -0.1215, 0.6160, 4.2252
"""Median and SD of the mean, and median of the SD, computed with questplus 2023.1 for these trials:
norm_cdf_2, lapse rate 0.01, flat prior, steps of 0.1 from -5 to 5 (mean) and from 1 to 12 (SD)."""


@pytest.fixture(scope="module")
def estimate() -> Estimate:
    """The product's estimate with flat priors; lapse and guess rate are those published."""
    prior = Prior(
        threshold_sd_db=1e3,
        slope_log_sd=1e3,
        guess_rate=PUBLISHED_LAPSE,
        lapse_weights=(0.0, 1.0, 0.0, 0.0, 0.0),
    )
    trials = [
        Trial(snr_db=float(level), right=i < right)
        for level, right, n in WATSON_TRIALS
        for i in range(n)
    ]
    return fit(trials, prior, np.random.default_rng(1))


def normal_slope(sd: float) -> float:
    """Return the slope at 50 % of the published function with an SD."""
    return (1 - 2 * PUBLISHED_LAPSE) / (sd * math.sqrt(2 * math.pi))


def test_the_published_example_has_its_published_mode(estimate: Estimate) -> None:
    """Half a step of the published grid is the tolerance."""
    assert estimate.n == 128
    assert estimate.x50_db.value == pytest.approx(PUBLISHED_MEAN, abs=0.5)
    assert normal_slope(PUBLISHED_SD + 0.5) < estimate.slope_per_db.value
    assert estimate.slope_per_db.value < normal_slope(PUBLISHED_SD - 0.5)
    assert not estimate.goodness.is_misfit


def test_the_posterior_is_that_of_quest_plus(estimate: Estimate) -> None:
    """The shapes differ, so x50 may differ by 0.1 of its SD, the SD by 10 %, the curve by 0.03.

    The order of the trials is not kept here, so the interval is taken without its widening.
    """
    assert estimate.x50_db.value == pytest.approx(
        QUEST_PLUS_MEDIAN, abs=0.1 * QUEST_PLUS_POSTERIOR_SD
    )
    posterior = estimate.posterior
    mean = posterior.weight @ posterior.x50_db
    sd = math.sqrt(posterior.weight @ (posterior.x50_db - mean) ** 2)
    assert sd == pytest.approx(QUEST_PLUS_POSTERIOR_SD, rel=0.1)
    curve = Curve(
        x50_db=estimate.x50_db.value,
        slope_per_db=estimate.slope_per_db.value,
        lapse=PUBLISHED_LAPSE,
        guess_rate=PUBLISHED_LAPSE,
    )
    for level in range(-8, 9):
        z = (level - QUEST_PLUS_MEDIAN) / (QUEST_PLUS_SD * math.sqrt(2))
        expected = PUBLISHED_LAPSE + (1 - 2 * PUBLISHED_LAPSE) * (1 + math.erf(z)) / 2
        assert float(curve.proportion_correct(level)) == pytest.approx(expected, abs=0.03)
