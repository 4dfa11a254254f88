"""What is believed before and after some trials: a grid over x50, slope and lapse.

The grid's thresholds lie on whole quarters of a dB. So the share right at a level depends on the
difference of two whole quarters only; it is tabulated once, and each fit is a sum of slices.
The steps are fine enough for up to about 1000 trials.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from drill.core.errors import UserError
from drill.psychometrics.curve import Floats, share_at

STEP_DB = 0.25
SPAN_DB = 18.0
"""The grid reaches this far to either side of the prior's guess."""
SLOPES: Floats = np.geomspace(0.03, 0.6, 19, dtype=np.float64)
LAPSES = np.array([0.0, 0.01, 0.02, 0.04, 0.07])
LAPSE_WEIGHTS = (0.2, 0.25, 0.25, 0.2, 0.1)
"""Lapses need a cap and a prior: left free, they move x50 by 0.6 dB in 60 trials."""
WIDEST_DB = 50.0
FLOOR = 1e-6
READ_DB = 0.01
_REACH_DB = 100.0
_ROWS = round(2 * _REACH_DB / STEP_DB) + 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Trial:
    """One whole item: SNR in dB, whether all of it was right, whether it only served to warm up."""

    snr_db: float
    right: bool
    warm_up: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Prior:
    """What is believed before the first trial.

    The slope's median is the middle of what tests with spoken digits and sentences show, 10 to 20 %
    a dB; one SD is a factor of 1.65. A narrower or steeper prior makes a shallow listener's
    interval hold the truth in 92 of 100 blocks instead of 95.

    threshold_mean_db, threshold_sd_db: normal for x50. slope_per_db: median of the slope, in share per dB;
    slope_log_sd: SD of its natural logarithm. guess_rate: share right by luck. lapse_weights: weights
    of LAPSES.

    Raises: UserError where a value is outside its range.
    """

    threshold_mean_db: float = 0.0
    threshold_sd_db: float = 6.0
    slope_per_db: float = 0.14
    slope_log_sd: float = 0.5
    guess_rate: float = 0.0
    lapse_weights: tuple[float, ...] = LAPSE_WEIGHTS

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if not abs(self.threshold_mean_db) <= 30:
            raise UserError(f"a guess of {self.threshold_mean_db} dB; allowed: -30 to 30")
        if not (self.threshold_sd_db > 0 and self.slope_log_sd > 0):
            raise UserError("the SDs of a prior must be above 0")
        if not SLOPES[0] <= self.slope_per_db <= SLOPES[-1]:
            raise UserError(f"a slope of {self.slope_per_db} per dB; allowed: 0.03 to 0.6")
        if not 0 <= self.guess_rate <= 0.4:
            raise UserError(f"a chance of {self.guess_rate}; allowed: 0 to 0.4")
        if len(self.lapse_weights) != len(LAPSES) or min(self.lapse_weights) < 0:
            raise UserError(f"a prior needs {len(LAPSES)} weights of lapses, none below 0")

    @property
    def x50_db(self) -> Floats:
        """Return the grid's thresholds in dB, shape (145,)."""
        centre = round(self.threshold_mean_db / STEP_DB)
        reach = round(SPAN_DB / STEP_DB)
        return STEP_DB * np.arange(centre - reach, centre + reach + 1, dtype=np.float64)

    def log(self) -> Floats:
        """Return the logarithm of the prior, shape (145, 19, 5)."""
        x50 = -0.5 * ((self.x50_db - self.threshold_mean_db) / self.threshold_sd_db) ** 2
        slope = -0.5 * (np.log(SLOPES / self.slope_per_db) / self.slope_log_sd) ** 2
        lapse = np.log(np.maximum(self.lapse_weights, 1e-300))
        return np.asarray(x50[:, None, None] + slope[:, None] + lapse)


@dataclass(frozen=True, eq=False, slots=True)
class Table:
    """Share right, and the logarithms of right and wrong, for x50 minus level; shape (801, 95)."""

    share: Floats
    log_right: Floats
    log_wrong: Floats


@lru_cache(maxsize=64)
def _table(guess_rate: float, offset: int) -> Table:
    """Return the table for levels that lie offset x READ_DB above a whole quarter of a dB."""
    above_db = STEP_DB * np.arange(_ROWS, dtype=np.float64) - _REACH_DB - READ_DB * offset
    share = share_at(-above_db[:, None, None], 0.0, SLOPES[:, None], LAPSES, guess_rate)
    share = np.clip(share.reshape(_ROWS, -1), FLOOR, 1 - FLOOR)
    return Table(share=share, log_right=np.log(share), log_wrong=np.log1p(-share))


def _rows(prior: Prior, snr_db: float) -> tuple[Table, slice]:
    """Return the table of a level and the rows of it that belong to the prior's thresholds."""
    quarters, offset = divmod(round(snr_db / READ_DB), round(STEP_DB / READ_DB))
    first = round((prior.x50_db[0] + _REACH_DB) / STEP_DB) - quarters
    return _table(prior.guess_rate, offset), slice(first, first + len(prior.x50_db))


def tally(trials: Iterable[Trial]) -> tuple[Floats, Floats, Floats]:
    """Return levels in dB, rising, and how many were right and wrong at each; no warm-ups.

    Levels are read to READ_DB. Raises: UserError for an SNR beyond 50 dB or not a number.
    """
    counted = [t for t in trials if not t.warm_up]
    for trial in counted:
        if not abs(trial.snr_db) <= WIDEST_DB:
            raise UserError(f"a trial at {trial.snr_db} dB; allowed: -50 to 50 dB")
    snr = np.array([round(t.snr_db / READ_DB) for t in counted], dtype=np.float64)
    levels, which = np.unique(snr, return_inverse=True)
    right = np.bincount(which, [t.right for t in counted], minlength=len(levels))
    wrong = np.bincount(which, [not t.right for t in counted], minlength=len(levels))
    return levels * READ_DB, right.astype(np.float64), wrong.astype(np.float64)


def log_likelihood(prior: Prior, trials: Iterable[Trial]) -> Floats:
    """Return the logarithm of the likelihood, shape (145, 95); order is of no account.

    Raises: UserError as tally does.
    """
    total = np.zeros((len(prior.x50_db), len(SLOPES) * len(LAPSES)))
    for level, right, wrong in zip(*tally(trials), strict=True):
        table, rows = _rows(prior, float(level))
        if right:
            total += right * table.log_right[rows]
        if wrong:
            total += wrong * table.log_wrong[rows]
    return total


def weigh(prior: Prior, trials: Sequence[Trial]) -> Floats:
    """Return the posterior, shape (145, 95), sum 1. Raises: UserError as tally does."""
    return normal(log_likelihood(prior, trials) + prior.log().reshape(len(prior.x50_db), -1))


def normal(log_weights: Floats) -> Floats:
    """Return weights of sum 1 from their logarithms."""
    weights = np.exp(log_weights - log_weights.max())
    return np.asarray(weights / weights.sum())


def predict(prior: Prior, weights: Floats, snr_db: float) -> float:
    """Return the expected share right at an SNR, over a posterior as weigh gives it."""
    table, rows = _rows(prior, snr_db)
    return float(np.einsum("ij,ij->", weights, table.share[rows]))  # vdot would start threads
