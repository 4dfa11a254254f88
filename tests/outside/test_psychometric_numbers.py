"""Intervals, curve and fit against published numbers; the source stands beside each."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.proportion import proportion_confint

from drill.psychometrics.character_threshold import (
    CHARACTER_TARGET,
    CharacterTrial,
    next_check_level_db,
)
from drill.psychometrics.curve import Curve
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import newcombe, smallest_detectable_change, wilson
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
# psignifit 4.3, tests/test_psignifit.py, test_psignifit_matlab_yesno_logistic: level, right of 10;
# its fit has lapse and guess at 0, threshold 0.879924438, width from 5 to 95 % 2.05631136.
YES_NO = (
    (0.25, 1), (5 / 12, 1), (7 / 12, 4), (0.75, 6), (11 / 12, 5),
    (13 / 12, 6), (1.25, 7), (17 / 12, 9), (19 / 12, 7), (1.75, 10),
)  # fmt: skip
WIDTH = 2 * math.log(19)  # of a logistic from 5 to 95 %, in units of 1/b
FLAT = {"threshold_sd_db": 1e3, "slope_log_sd": 1e3, "lapse_weights": (1.0, 0.0, 0.0, 0.0, 0.0)}


def counts(levels: list[float], right: list[int], n: list[int]) -> list[Trial]:
    return [
        Trial(snr_db=x, right=i < k)
        for x, k, m in zip(levels, right, n, strict=True)
        for i in range(m)
    ]


def flat_fit(trials: list[Trial], threshold_mean_db: float, guess_rate: float = 0.0) -> Estimate:
    prior = Prior(threshold_mean_db=threshold_mean_db, guess_rate=guess_rate, **FLAT)  # type: ignore[arg-type]
    return fit(trials, prior, np.random.default_rng(1))


@pytest.mark.parametrize("case", WILSON)
def test_wilson(case: tuple[int, int]) -> None:
    got = wilson(*case)
    assert (got.low, got.high) == pytest.approx(WILSON[case], abs=6e-5)


@pytest.mark.parametrize("case", [*WILSON, (23, 60), (7, 31), (60, 60)])
def test_wilson_is_that_of_statsmodels(case: tuple[int, int]) -> None:
    got = wilson(*case)
    want = proportion_confint(*case, alpha=0.05, method="wilson")
    assert (got.low, got.high) == pytest.approx(want, abs=1e-12)


@pytest.mark.parametrize("case", NEWCOMBE)
def test_newcombe(case: tuple[int, int, int, int]) -> None:
    got = newcombe(*case)
    assert (got.low, got.high) == pytest.approx(NEWCOMBE[case], abs=6e-5)


def test_beetles() -> None:
    """Levels scaled so that the slope lies within ours; no lapse, flat priors.

    Dobson: slope 34.270 (SE 2.912), median lethal dose 1.7717. Tolerances: posterior means of 481
    trials lie off the likelihood's maximum by a few hundredths of their SD.
    """
    scale = 200.0
    levels = [scale * (dose - 1.77) for dose in DOSES]
    got = flat_fit(counts(levels, list(KILLED), list(BEETLES)), 0.0)
    killed = np.stack([KILLED, np.subtract(BEETLES, KILLED)], axis=1)
    glm = sm.GLM(killed, sm.add_constant(levels), family=sm.families.Binomial()).fit()
    assert glm.params[1] * scale == pytest.approx(34.270, abs=5e-4)
    assert -glm.params[0] / glm.params[1] / scale + 1.77 == pytest.approx(1.7717, abs=5e-5)
    gradient = np.array([-1 / glm.params[1], glm.params[0] / glm.params[1] ** 2])
    sd = math.sqrt(gradient @ glm.cov_params() @ gradient)
    assert got.x50_db.value == pytest.approx(-glm.params[0] / glm.params[1], abs=0.05 * sd)
    assert got.x50_db.sd == pytest.approx(got.widening * sd, rel=0.05)
    assert 4 * got.slope_per_db.value == pytest.approx(glm.params[1], rel=0.02)
    assert 4 * got.slope_per_db.sd == pytest.approx(got.widening * glm.bse[1], rel=0.05)


def test_the_yes_no_data_of_psignifit() -> None:
    """psignifit gives the maximum of its posterior, we the mean; 100 trials.

    Tolerances: a fifth of an SD for the threshold, one SD for the width, since psignifit's prior
    favours widths within the 1.5 units of these levels and ours is flat here.
    """
    scale = 10.0
    levels = [scale * level for level, _ in YES_NO]
    got = flat_fit(counts(levels, [k for _, k in YES_NO], [10] * 10), 8.0)
    assert got.x50_db.value / scale == pytest.approx(0.879924438, abs=got.x50_db.sd / scale / 5)
    width = WIDTH / (4 * got.slope_per_db.value) / scale
    sd = got.slope_per_db.sd / got.slope_per_db.value
    assert width == pytest.approx(2.05631136, rel=sd)


@pytest.mark.parametrize(("slope", "width_db", "middle_db"), [
    (0.10, 14.72, 6.93), (0.15, 9.81, 4.62), (0.20, 7.36, 3.47),
])  # fmt: skip
def test_widths_of_a_logistic(slope: float, width_db: float, middle_db: float) -> None:
    """5 to 95 % is 2 ln 19 / b, 20 to 80 % 2 ln 4 / b, b = 4 x slope at the middle."""
    curve = Curve(x50_db=-3.0, slope_per_db=slope)
    low, high, fifth, four = (curve.at(q) for q in (0.05, 0.95, 0.2, 0.8))
    assert low is not None and high is not None and fifth is not None and four is not None
    assert high - low == pytest.approx(width_db, abs=0.005)
    assert four - fifth == pytest.approx(middle_db, abs=0.005)


def test_lapses_count_in_the_curve() -> None:
    """F = 0.8/0.98 on the logistic with b 0.6125 per dB and middle -3.0667 dB, by hand."""
    curve = Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.02)
    assert curve.at(0.8) == pytest.approx(-0.6313, abs=1e-4)
    assert curve.at(0.98) is None


@pytest.mark.parametrize(("share", "items"), [(0.3, 52), (0.5, 44), (0.8, 79), (0.9, 178)])
def test_items_for_half_a_db(share: float, items: int) -> None:
    """n = share (1 - share) / (slope^2 SD^2), the slope being that at the share; 2 % lapses."""
    curve = Curve(x50_db=-3.0, slope_per_db=0.15, lapse=0.02)
    snr_db = curve.at(share)
    assert snr_db is not None
    inner = share / 0.98
    slope = 0.98 * inner * (1 - inner) * 0.15 / (0.5 * (1 - 0.5 / 0.98))
    by_hand = share * (1 - share) / (slope * 0.5) ** 2
    assert by_hand == pytest.approx(items, abs=0.6)
    assert 1 / (0.25 * float(curve.information(snr_db))) == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize(("sd", "tau", "blocks", "change"), [
    (0.40, 0.0, 1, 1.11), (0.40, 0.5, 1, 1.77), (0.55, 0.0, 1, 1.52),
    (0.55, 0.5, 1, 2.06), (0.55, 0.0, 4, 0.76), (0.55, 0.5, 4, 1.03),
])  # fmt: skip
def test_smallest_change(sd: float, tau: float, blocks: int, change: float) -> None:
    """1.96 sqrt(SD^2 + SD^2 + 2 tau^2), over sqrt(k) for k blocks a side."""
    got = smallest_detectable_change(sd, sd, tau=tau, blocks_a=blocks, blocks_b=blocks)
    assert got == pytest.approx(change, abs=0.006)


def test_the_step_of_the_quick_check() -> None:
    """Brand and Kollmeier (2002): 1.5 x 1.41^-reversals x (share - target) / slope."""
    right = CharacterTrial(snr_db=0.0, right=6, sent=6)
    assert next_check_level_db(0.0, [right]) == pytest.approx(
        -1.5 * (1 - CHARACTER_TARGET) / 0.12, abs=0.051
    )
    wrong = CharacterTrial(snr_db=-3.1, right=3, sent=6)
    stepped = next_check_level_db(0.0, [right, wrong]) - wrong.snr_db
    assert stepped == pytest.approx(1.5 / 1.41 * (CHARACTER_TARGET - 0.5) / 0.12, abs=0.051)
