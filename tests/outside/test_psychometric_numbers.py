"""Intervals, curve and fit compared with published numbers; the source is given beside each."""

import math

import numpy as np
import pytest

from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CharacterTrial,
    next_check_level_db,
)
from drill.psychometrics.curve import snr_at
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import (
    blocks_to_show_change,
    difference_interval,
    smallest_detectable_change,
    wilson_interval,
)
from drill.psychometrics.posterior import Estimate, fit

# R. G. Newcombe, Stat. Med. 17 (1998), 857-872, Table I, method 3.
WILSON = {
    (81, 263): (0.2553, 0.3662),
    (15, 148): (0.0624, 0.1605),
    (0, 20): (0.0, 0.1611),
    (1, 29): (0.0061, 0.1718),
}
# R. G. Newcombe, Stat. Med. 17 (1998), 873-890, Table II, method 10.
NEWCOMBE = {
    (56, 70, 48, 80): (0.0524, 0.3339),
    (9, 10, 3, 10): (0.1705, 0.8090),
    (5, 56, 0, 29): (-0.0381, 0.1926),
    (10, 10, 0, 10): (0.6075, 1.0),
}
# A. J. Dobson, An Introduction to Generalized Linear Models: beetles (C. I. Bliss, 1935).
DOSES = (1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839)
BEETLES = (59, 60, 62, 56, 63, 59, 62, 60)
KILLED = (6, 13, 18, 28, 52, 53, 61, 60)
# psignifit 4.3, tests/test_psignifit.py, test_psignifit_matlab_yesno_logistic: level, right of 10.
# Its fit fixes lapse and guess rate at 0 and gives threshold 0.879924438 and 5-95 % width
# 2.05631136.
YES_NO = (
    (0.25, 1), (5 / 12, 1), (7 / 12, 4), (0.75, 6), (11 / 12, 5),
    (13 / 12, 6), (1.25, 7), (17 / 12, 9), (19 / 12, 7), (1.75, 10),
)  # fmt: skip
WIDTH_5_95 = 2 * math.log(19)
"""Width of a logistic from 5 to 95 %, in units of 1/b."""


def trials_from_counts(levels: list[float], right: list[int], n: list[int]) -> list[Trial]:
    return [
        Trial(snr_db=level, right=i < k)
        for level, k, m in zip(levels, right, n, strict=True)
        for i in range(m)
    ]


def flat_prior_fit(trials: list[Trial], threshold_mean_db: float) -> Estimate:
    """Return the estimate with flat priors of threshold and slope and without lapses."""
    prior = Prior(
        threshold_mean_db=threshold_mean_db,
        threshold_sd_db=1e3,
        slope_log_sd=1e3,
        lapse_weights=(1.0, 0.0, 0.0, 0.0, 0.0),
    )
    return fit(trials, prior, np.random.default_rng(1))


@pytest.mark.parametrize("case", WILSON)
def test_wilson_intervals_equal_the_published_ones(case: tuple[int, int]) -> None:
    interval = wilson_interval(*case)
    assert (interval.low, interval.high) == pytest.approx(WILSON[case], abs=6e-5)


@pytest.mark.parametrize("case", [*WILSON, (23, 60), (7, 31), (60, 60)])
def test_wilson_intervals_equal_those_of_statsmodels(case: tuple[int, int]) -> None:
    from statsmodels.stats.proportion import proportion_confint  # slow to import (0.8 s)

    interval = wilson_interval(*case)
    expected = proportion_confint(*case, alpha=0.05, method="wilson")
    assert (interval.low, interval.high) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("case", NEWCOMBE)
def test_intervals_of_differences_equal_newcombes(
    case: tuple[int, int, int, int],
) -> None:
    right_a, n_a, right_b, n_b = case
    interval = difference_interval(wilson_interval(right_a, n_a), wilson_interval(right_b, n_b))
    assert (interval.low, interval.high) == pytest.approx(NEWCOMBE[case], abs=6e-5)


def test_the_beetle_data_give_dobsons_fit() -> None:
    """The levels are scaled so that the slope lies within the grid; no lapses, flat priors.

    Dobson: slope 34.270 (SE 2.912), median lethal dose 1.7717. Tolerances: with 481 trials the
    posterior mean differs from the maximum of the likelihood by a few hundredths of the SD.
    """
    import statsmodels.api as sm  # slow to import (1.2 s)

    scale = 200.0
    levels = [scale * (dose - 1.77) for dose in DOSES]
    estimate = flat_prior_fit(trials_from_counts(levels, list(KILLED), list(BEETLES)), 0.0)
    counts = np.stack([KILLED, np.subtract(BEETLES, KILLED)], axis=1)
    glm = sm.GLM(counts, sm.add_constant(levels), family=sm.families.Binomial()).fit()
    assert glm.params[1] * scale == pytest.approx(34.270, abs=5e-4)
    assert -glm.params[0] / glm.params[1] / scale + 1.77 == pytest.approx(1.7717, abs=5e-5)
    gradient = np.array([-1 / glm.params[1], glm.params[0] / glm.params[1] ** 2])
    sd = math.sqrt(gradient @ glm.cov_params() @ gradient)
    assert estimate.x50_db.value == pytest.approx(-glm.params[0] / glm.params[1], abs=0.05 * sd)
    assert estimate.x50_db.sd == pytest.approx(estimate.widening * sd, rel=0.05)
    assert 4 * estimate.slope_per_db.value == pytest.approx(glm.params[1], rel=0.02)
    slope_sd = estimate.widening * glm.bse[1]
    assert 4 * estimate.slope_per_db.sd == pytest.approx(slope_sd, rel=0.05)


def test_the_yes_no_data_give_psignifits_fit() -> None:
    """psignifit reports the mode of its posterior, faintcall the mean; 100 trials.

    Tolerances: a fifth of an SD for the threshold and one SD for the width, because psignifit's
    prior favours widths within the 1.5 units of these levels and the prior here is flat.
    """
    scale = 10.0
    levels = [scale * level for level, _ in YES_NO]
    right = [k for _, k in YES_NO]
    estimate = flat_prior_fit(trials_from_counts(levels, right, [10] * 10), 8.0)
    tolerance = estimate.x50_db.sd / scale / 5
    assert estimate.x50_db.value / scale == pytest.approx(0.879924438, abs=tolerance)
    width = WIDTH_5_95 / (4 * estimate.slope_per_db.value) / scale
    relative_sd = estimate.slope_per_db.sd / estimate.slope_per_db.value
    assert width == pytest.approx(2.05631136, rel=relative_sd)


@pytest.mark.parametrize(("slope", "width_db", "middle_db"), [
    (0.10, 14.72, 6.93), (0.15, 9.81, 4.62), (0.20, 7.36, 3.47),
])  # fmt: skip
def test_widths_of_a_logistic(slope: float, width_db: float, middle_db: float) -> None:
    """5 to 95 % is 2 ln 19 / b, 20 to 80 % is 2 ln 4 / b, with b = 4 x the slope at 50 %."""
    low, high, p20, p80 = (float(snr_at(p, -3.0, slope, 0.0, 0.0)) for p in (0.05, 0.95, 0.2, 0.8))
    assert high - low == pytest.approx(width_db, abs=0.005)
    assert p80 - p20 == pytest.approx(middle_db, abs=0.005)


def test_x80_includes_lapses() -> None:
    """By hand: F = 0.8 / 0.98 on a logistic with b = 0.6125 per dB and midpoint -3.0667 dB."""
    assert float(snr_at(0.8, -3.0, 0.15, 0.02, 0.0)) == pytest.approx(-0.6313, abs=1e-4)
    assert math.isnan(snr_at(0.98, -3.0, 0.15, 0.02, 0.0))


@pytest.mark.parametrize(("sd", "tau", "blocks", "change"), [
    (0.40, 0.0, 1, 1.11), (0.40, 0.5, 1, 1.77), (0.55, 0.0, 1, 1.52),
    (0.55, 0.5, 1, 2.06), (0.55, 0.0, 4, 0.76), (0.55, 0.5, 4, 1.03),
])  # fmt: skip
def test_smallest_detectable_changes(sd: float, tau: float, blocks: int, change: float) -> None:
    """By hand: 1.96 sqrt(SD^2 + SD^2 + 2 tau^2), divided by sqrt(k) for k blocks per side."""
    result = smallest_detectable_change(sd, sd, tau=tau, blocks_a=blocks, blocks_b=blocks)
    assert result == pytest.approx(change, abs=0.006)


@pytest.mark.parametrize(("change_in_sd", "published"), [(0.5, 64), (0.8, 26), (1.0, 17)])
def test_blocks_that_show_a_change(change_in_sd: float, published: int) -> None:
    """J. Cohen, Statistical Power Analysis (1988), table 2.4.1, power 0.80 (value from memory).

    His t test estimates the SD from the same data, which takes one more on each side.
    """
    assert blocks_to_show_change(change_in_sd, 1.0) == published - 1
    assert blocks_to_show_change(change_in_sd, 0.6, tau=0.8) == published - 1


def test_that_many_blocks_show_the_change_in_8_of_10_cases() -> None:
    """Means of simulated blocks before and after a change of 1 dB; SD 0.8 dB, 4000 cases."""
    blocks = blocks_to_show_change(1.0, 0.8)
    smallest = smallest_detectable_change(0.8, 0.8, blocks_a=blocks, blocks_b=blocks)
    rng = np.random.default_rng(5)
    before, after = (rng.normal(mean, 0.8, (4000, blocks)).mean(axis=1) for mean in (0.0, 1.0))
    assert np.mean(np.abs(after - before) >= smallest) == pytest.approx(0.82, abs=0.03)
    unchanged = rng.normal(0.0, 0.8, (4000, blocks)).mean(axis=1)
    assert np.mean(np.abs(unchanged - before) >= smallest) == pytest.approx(0.05, abs=0.012)


def test_the_step_of_the_quick_check() -> None:
    """Brand and Kollmeier (2002): 1.5 x 1.41^-reversals x (proportion - target) / slope."""
    right = CharacterTrial(snr_db=0.0, right=6, sent=6)
    expected_db = -1.5 * (1 - CHARACTER_TARGET) / 0.12
    assert next_check_level_db(0.0, [right]) == pytest.approx(expected_db, abs=0.051)
    wrong = CharacterTrial(snr_db=-3.1, right=3, sent=6)
    step_db = next_check_level_db(0.0, [right, wrong]) - wrong.snr_db
    expected_db = 1.5 / 1.41 * (CHARACTER_TARGET - 0.5) / 0.12
    assert step_db == pytest.approx(expected_db, abs=0.051)
