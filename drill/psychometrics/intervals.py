"""95 % intervals: proportions, differences, the smallest detectable change, and trends."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError

Z_975 = 1.959963984540054
"""97.5 % point of the standard normal distribution."""
TAIL = 0.025
"""Proportion of a posterior beyond either end of an equal-tailed 95 % interval."""
POWER = 0.8
"""Statistical power: probability of detecting a true change. 80 % is the usual convention."""
_Z_POWER = 0.8416212335729143
"""80 % point of the standard normal distribution."""
MIN_TREND_BLOCKS = 4
"""Minimum number of blocks for a trend."""
_DAYS_PER_WEEK = 7.0
_MAX_NEWTON_STEPS = 50


@dataclass(frozen=True, kw_only=True, slots=True)
class Interval:
    """A value and its 95 % interval, in the unit of the attribute that holds it."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity(Interval):
    """A posterior mean or median with its equal-tailed 95 % interval and the posterior SD."""

    sd: float

    def widened(self, factor: float) -> "Quantity":
        """Return the quantity with its SD and both half-widths multiplied by a factor."""
        return Quantity(
            value=self.value,
            sd=factor * self.sd,
            low=self.value - factor * (self.value - self.low),
            high=self.value + factor * (self.high - self.value),
        )

    def exponential(self) -> "Quantity":
        """Return exp of a quantity that is a natural logarithm."""
        value = math.exp(self.value)
        return Quantity(
            value=value, sd=self.sd * value, low=math.exp(self.low), high=math.exp(self.high)
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Trend:
    """A straight line through the thresholds of several blocks.

    per_week_db: slope in dB per week; an interval that contains 0 shows no change.
    tau_db: day-to-day SD of the threshold beyond the blocks' own SDs. blocks: their number.
    """

    per_week_db: Interval
    tau_db: float
    blocks: int

    @property
    def smallest_per_week_db(self) -> float:
        """Smallest slope in dB per week that these blocks could distinguish from none."""
        return (self.per_week_db.high - self.per_week_db.low) / 2


def posterior_summary(
    values: FloatArray, weights: FloatArray, *, median: bool = False, tail: float = TAIL
) -> Quantity:
    """Return the mean, SD and equal-tailed interval of weighted values.

    values, weights: shape (m,), in any order; the weights need not sum to 1. median: give the
    median in place of the mean, for a quantity whose posterior is skewed. tail: proportion of the
    weight beyond either end of the interval, above 0 and below 0.5.
    """
    order = np.argsort(values, kind="stable")
    ranked, weight = values[order], weights[order] / weights.sum()
    mean = float(weight @ ranked)
    low, middle, high = np.interp((tail, 0.5, 1 - tail), np.cumsum(weight) - weight / 2, ranked)
    value = float(middle) if median else mean
    return Quantity(
        value=value,
        sd=math.sqrt(float(weight @ (ranked - mean) ** 2)),
        low=min(value, float(low)),
        high=max(value, float(high)),
    )


def wilson_interval(right: int, n: int) -> Interval:
    """Return the proportion right / n with its Wilson score interval, within 0 to 1.

    Raises: UserError if n is below 1 or right is outside 0 to n.
    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212.
    """
    if n < 1 or not 0 <= right <= n:
        raise UserError(
            f"{right} right of {n} is not a proportion; n must be 1 or more, right from 0 to n"
        )
    p = right / n
    scale = 1 + Z_975**2 / n
    centre = (p + Z_975**2 / (2 * n)) / scale
    half_width = Z_975 * math.sqrt(p * (1 - p) / n + Z_975**2 / (4 * n**2)) / scale
    return Interval(
        value=p,
        low=min(p, max(0.0, centre - half_width)),
        high=max(p, min(1.0, centre + half_width)),
    )


def difference_interval(a: Interval, b: Interval) -> Interval:
    """Return a - b for two independent values, with its interval.

    The half-widths on each side add in quadrature, so skewed intervals stay skewed (MOVER). For two
    proportions with Wilson intervals this is Newcombe's method 10.

    Source: R. G. Newcombe, Stat. Med. 17 (1998), 873-890; for other quantities G. Y. Zou and
    A. Donner, Stat. Med. 27 (2008), 1693-1702.
    """
    value = a.value - b.value
    return Interval(
        value=value,
        low=value - math.hypot(a.value - a.low, b.high - b.value),
        high=value + math.hypot(a.high - a.value, b.value - b.low),
    )


def change_between_days(a: Interval, b: Interval, *, tau: float) -> Interval:
    """Return a - b for values from two days, with the interval widened by the day-to-day SD.

    tau: day-to-day SD in the unit of the values, 0 if it is not known.
    """
    change = difference_interval(a, b)
    days = Z_975 * math.sqrt(2) * tau
    return Interval(
        value=change.value,
        low=change.value - math.hypot(change.value - change.low, days),
        high=change.value + math.hypot(change.high - change.value, days),
    )


def smallest_detectable_change(
    sd_a: float, sd_b: float, *, tau: float = 0.0, blocks_a: int = 1, blocks_b: int = 1
) -> float:
    """Return the smallest change between two occasions that exceeds chance at 95 % (SDC95).

    sd_a, sd_b: SD of the value from one block on each occasion.
    tau: day-to-day SD in the same unit.
    blocks_a, blocks_b: number of blocks, from different days, averaged on each occasion.

    Raises: UserError if an SD is negative or an occasion has no block.
    Source: H. C. W. de Vet et al., J. Clin. Epidemiol. 59 (2006), 1033-1039; the day-to-day SD is
    added.
    """
    if min(sd_a, sd_b, tau) < 0 or min(blocks_a, blocks_b) < 1:
        raise UserError(
            f"SDs of {sd_a}, {sd_b} and {tau} with {blocks_a} and {blocks_b} blocks are out of "
            "range; give SDs of 0 or above and at least one block each"
        )
    return Z_975 * math.sqrt((sd_a**2 + tau**2) / blocks_a + (sd_b**2 + tau**2) / blocks_b)


def blocks_to_show_change(change: float, sd: float, *, tau: float = 0.0) -> int:
    """Return how many blocks each of two occasions needs to detect a true change.

    With that many blocks before and as many after it, the change is significant at the 5 % level
    with probability POWER. change: above 0, in the unit of the SDs. sd: of the value from one
    block. tau: day-to-day SD.

    Raises: UserError if the change is not above 0 or an SD is negative.
    Source: the sample size for two means, S. C. Chow et al., Sample Size Calculations in Clinical
    Research, section 3.2.
    """
    if not change > 0 or min(sd, tau) < 0:
        raise UserError(
            f"a change of {change} with SDs of {sd} and {tau} is out of range; give a change above "
            "0 and SDs of 0 or above"
        )
    return max(1, math.ceil(2 * (sd**2 + tau**2) * ((Z_975 + _Z_POWER) / change) ** 2))


def fit_trend(days: Sequence[float], values_db: Sequence[float], sds_db: Sequence[float]) -> Trend:
    """Return the weighted line through the thresholds of blocks.

    days, values_db, sds_db: time in days, threshold and its SD in dB of each block, all of one
    length. The weights are 1 / (SD^2 + tau^2); tau^2 makes the weighted sum of squares equal to its
    expectation (Paule and Mandel). The interval uses Student's t and is never narrowed by residuals
    that happen to be small.

    Raises: UserError if there are fewer than MIN_TREND_BLOCKS blocks, if all are from one day, or
    if an SD is not above 0.
    Source: R. C. Paule and J. Mandel, J. Res. NBS 87 (1982), 377-385.
    """
    from scipy.special import stdtrit  # slow to import

    day, value, sd = (np.asarray(v, dtype=np.float64) for v in (days, values_db, sds_db))
    if not len(day) == len(value) == len(sd) >= MIN_TREND_BLOCKS:
        raise UserError(f"a trend needs {MIN_TREND_BLOCKS} blocks; there are {len(day)}")
    if not np.ptp(day) > 0 or not (sd > 0).all():
        raise UserError("a trend needs blocks from different days, each with an SD above 0")
    week = (day - day.mean()) / _DAYS_PER_WEEK
    design = np.stack([np.ones_like(week), week], axis=1)
    degrees_of_freedom = len(day) - 2

    def weighted_fit(tau2: float) -> tuple[float, float, float, float]:
        """Return slope, variance, weighted sum of squared residuals, and minus its derivative."""
        weight = 1 / (sd**2 + tau2)
        covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
        beta = covariance @ (design.T @ (weight * value))
        squares = (value - design @ beta) ** 2
        # beta minimises the sum, so the derivative with respect to beta is 0.
        fall = float(weight**2 @ squares)
        return float(beta[1]), float(covariance[1, 1]), float(weight @ squares), fall

    tau2 = 0.0
    slope, variance, squares, fall = weighted_fit(tau2)
    # The sum is a convex function of tau2, so Newton's method approaches its root from below.
    for _ in range(_MAX_NEWTON_STEPS):
        if squares <= degrees_of_freedom * (1 + 1e-9):
            break
        tau2 += (squares - degrees_of_freedom) / fall
        slope, variance, squares, fall = weighted_fit(tau2)
    inflation = max(1.0, squares / degrees_of_freedom)
    half_width = float(stdtrit(degrees_of_freedom, 0.975)) * math.sqrt(variance * inflation)
    return Trend(
        per_week_db=Interval(value=slope, low=slope - half_width, high=slope + half_width),
        tau_db=math.sqrt(tau2),
        blocks=len(day),
    )
