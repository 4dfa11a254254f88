"""Intervals: shares, differences, the smallest change that is more than chance, trends.

All are 95 % intervals. Quantiles are scipy's.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drill.core.errors import UserError

Z = 1.959963984540054
"""97.5 % point of the normal distribution."""
LEAST_BLOCKS = 4
"""Fewest blocks through which a trend is drawn."""
WEEK_DAYS = 7.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Interval:
    """A figure and its 95 % interval, in the unit that the holder's name gives."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity(Interval):
    """A posterior mean with its SD and 95 % equal-tailed interval."""

    sd: float

    def widened(self, factor: float) -> "Quantity":
        """Return the quantity with SD and distances to its limits multiplied."""
        return Quantity(
            value=self.value,
            sd=factor * self.sd,
            low=self.value - factor * (self.value - self.low),
            high=self.value + factor * (self.high - self.value),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Trend:
    """A line through blocks.

    per_week_db: slope; its interval that contains 0 shows no change. tau_db: day-to-day SD of the
    threshold beyond what the blocks' own SDs explain. blocks: how many there are.
    """

    per_week_db: Interval
    tau_db: float
    blocks: int

    @property
    def smallest_per_week_db(self) -> float:
        """Return the smallest slope that these blocks could have told from none."""
        return (self.per_week_db.high - self.per_week_db.low) / 2


def summary(values: NDArray[np.float64], weights: NDArray[np.float64]) -> Quantity:
    """Return mean, SD and 95 % equal-tailed interval of weighted values, shapes (m,)."""
    order = np.argsort(values, kind="stable")
    ranked, weight = values[order], weights[order] / weights.sum()
    mean = float(weight @ ranked)
    low, high = np.interp((0.025, 0.975), np.cumsum(weight) - weight / 2, ranked)
    return Quantity(
        value=mean,
        sd=math.sqrt(float(weight @ (ranked - mean) ** 2)),
        low=min(mean, float(low)),
        high=max(mean, float(high)),
    )


def wilson(right: int, n: int) -> Interval:
    """Return the share right of n and its score interval, within 0 to 1.

    Raises: UserError where n is below 1 or right is not 0 to n.
    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212.
    """
    if n < 1 or not 0 <= right <= n:
        raise UserError(
            f"{right} right of {n}: need at least one, and no more right than there are"
        )
    p = right / n
    scale = 1 + Z**2 / n
    centre = (p + Z**2 / (2 * n)) / scale
    half = Z * math.sqrt(p * (1 - p) / n + Z**2 / (4 * n**2)) / scale
    return Interval(
        value=p, low=min(p, max(0.0, centre - half)), high=max(p, min(1.0, centre + half))
    )


def difference_interval(a: Interval, b: Interval) -> Interval:
    """Return a - b of two independent figures, and its interval.

    The distances to the limits add as squares, each side with its own, so that skewed intervals
    stay skewed. For two shares with Wilson's intervals this is Newcombe's method 10.

    Source: R. G. Newcombe, Stat. Med. 17 (1998), 873-890; for other quantities G. Y. Zou and
    A. Donner, Stat. Med. 27 (2008), 1693-1702.
    """
    value = a.value - b.value
    return Interval(
        value=value,
        low=value - math.hypot(a.value - a.low, b.high - b.value),
        high=value + math.hypot(a.high - a.value, b.value - b.low),
    )


def newcombe(right_a: int, n_a: int, right_b: int, n_b: int) -> Interval:
    """Return the difference of two shares, a - b, with Newcombe's interval.

    Raises: UserError as wilson does.
    """
    return difference_interval(wilson(right_a, n_a), wilson(right_b, n_b))


def smallest_detectable_change(
    sd_a: float, sd_b: float, *, tau: float = 0.0, blocks_a: int = 1, blocks_b: int = 1
) -> float:
    """Return the smallest change between two occasions that is more than chance (SDC95).

    sd_a, sd_b: SD of one block's figure on either side. tau: day-to-day SD, same unit. blocks: how
    many blocks of different days are averaged on either side.

    Raises: UserError where an SD is negative or a side has no block.
    Source: H. C. W. de Vet et al., J. Clin. Epidemiol. 59 (2006), 1033-1039, with a day-to-day SD.
    """
    if min(sd_a, sd_b, tau) < 0 or min(blocks_a, blocks_b) < 1:
        raise UserError("an SD cannot be negative, and each side needs a block")
    return Z * math.sqrt((sd_a**2 + tau**2) / blocks_a + (sd_b**2 + tau**2) / blocks_b)


def trend(days: Sequence[float], values_db: Sequence[float], sds_db: Sequence[float]) -> Trend:
    """Return the weighted line through the thresholds of blocks, all of one length.

    Weights are 1/(SD^2 + tau^2), with tau^2 such that the weighted sum of squares is what chance
    gives (Paule and Mandel). The interval is Student's, and is not narrowed by a lucky fit.

    Raises: UserError below LEAST_BLOCKS, for blocks all of one day, or an SD that is not above 0.
    Source: R. C. Paule and J. Mandel, J. Res. NBS 87 (1982), 377-385.
    """
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    day, value, sd = (np.asarray(v, dtype=np.float64) for v in (days, values_db, sds_db))
    if not len(day) == len(value) == len(sd) >= LEAST_BLOCKS:
        raise UserError(f"a trend needs {LEAST_BLOCKS} blocks; there are {len(day)}")
    if not np.ptp(day) > 0 or not (sd > 0).all():
        raise UserError("a trend needs blocks of different days, each with an SD above 0")
    week = (day - day.mean()) / WEEK_DAYS
    design = np.stack([np.ones_like(week), week], axis=1)
    free = len(day) - 2

    def line(tau2: float) -> tuple[float, float, float]:
        """Return slope, its variance, and the weighted sum of squares."""
        weight = 1 / (sd**2 + tau2)
        cover = np.linalg.inv(design.T @ (weight[:, None] * design))
        beta = cover @ (design.T @ (weight * value))
        return float(beta[1]), float(cover[1, 1]), float(weight @ (value - design @ beta) ** 2)

    tau2 = 0.0
    if line(0.0)[2] > free:
        most = float(np.ptp(value)) ** 2 * len(day)
        tau2 = float(brentq(lambda t: line(t)[2] - free, 0.0, most))
    slope, variance, squares = line(tau2)
    half = float(stdtrit(free, 0.975)) * math.sqrt(variance * max(1.0, squares / free))
    return Trend(
        per_week_db=Interval(value=slope, low=slope - half, high=slope + half),
        tau_db=math.sqrt(tau2),
        blocks=len(day),
    )
