"""Trials, the prior, and the posterior on a grid over x50, slope and lapse rate.

The threshold grid has steps of 0.25 dB and lies on whole multiples of 0.25 dB. The proportion
correct depends only on the difference between level and threshold, so it is tabulated once for all
differences, and the likelihood of a trial is a slice of that table. The steps are fine enough for
about 1000 trials.

Grid shapes: 145 thresholds, 22 slopes, 5 lapse rates. Slopes and lapse rates are flattened into
one axis of 110 columns.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError
from drill.core.validation import within
from drill.psychometrics.curve import proportion_correct_at

GRID_STEP_DB = 0.25
GRID_REACH_DB = 18.0
"""The threshold grid extends this far to either side of the prior mean."""
_SLOPE_RATIO = 20 ** (1 / 18)
SLOPE_GRID_PER_DB: FloatArray = 0.6 * _SLOPE_RATIO ** np.arange(-21.0, 1.0)
"""From 0.018 to 0.6 per dB."""
_ADDED_SLOPES = 3
_ADDED_SLOPES_REACH_SD = 3.2
"""Version 0.2.0 had no slopes below 0.03 per dB. A prior as narrow as the one of that version
excludes them, so that sessions begun with it continue at the same levels."""
LAPSE_GRID = np.array([0.0, 0.01, 0.02, 0.04, 0.07])
LAPSE_WEIGHTS = (0.4, 0.25, 0.18, 0.1, 0.07)
"""Prior weights of LAPSE_GRID in a placement."""
ESTIMATE_LAPSE_WEIGHTS = (0.2, 0.2, 0.2, 0.2, 0.2)
"""Prior weights of LAPSE_GRID in an estimate. If the lapse rate were fitted without an upper limit,
x50 from 60 trials could be wrong by 0.6 dB. With less weight on high lapse rates, x80 of a listener
with 6 % lapses would be estimated too high."""
SLOPE_MEDIAN_PER_DB = 0.12
SLOPE_LOG_SD = 1.5
ESTIMATE_SLOPE_LOG_SD = 2.0
"""SD of the log slope in the prior of an estimate. It is wider than that of a placement, because
otherwise the intervals of a listener with a shallow curve would be slightly too narrow."""
MAX_ABS_SNR_DB = 50.0
PROBABILITY_FLOOR = 1e-6
"""Probabilities are kept this far from 0 and 1, so that their logarithms are finite."""
SNR_RESOLUTION_DB = 0.01
_TABLE_REACH_DB = 100.0
_TABLE_ROWS = round(2 * _TABLE_REACH_DB / GRID_STEP_DB) + 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Trial:
    """One whole item: its SNR in dB, whether all of it was right, and whether it was a warm-up."""

    snr_db: float
    right: bool
    warm_up: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Prior:
    """Prior distribution of threshold, slope and lapse rate.

    The median slope of 12 % per dB lies in the middle of published speech-in-noise tests with
    digits and sentences (10 to 20 % per dB). One SD is a factor of 4.5, so the prior is almost flat
    in the logarithm of the slope: for a curve known up to shift and scale, the flat prior is the
    one whose posterior intervals are confidence intervals. With a factor of 1.65, as in version
    0.2.0, the interval of x50 of a listener with 4 % per dB contains the true value in only 81 of
    100 blocks.

    threshold_mean_db, threshold_sd_db: normal prior of x50; mean from -30 to 30 dB.
    slope_per_db: median of the log-normal prior of the slope, within SLOPE_GRID_PER_DB.
    slope_log_sd: SD of the slope's natural logarithm.
    guess_rate: probability of a right answer without hearing anything, 0 to 0.4.
    lapse_weights: weights of LAPSE_GRID; they need not sum to 1.

    Raises: UserError if a value is out of range.
    """

    STORED_NAMES: ClassVar[Mapping[str, str]] = {
        "threshold_mean_db": "guess_db",
        "threshold_sd_db": "guess_sd_db",
        "guess_rate": "chance",
    }

    threshold_mean_db: float = 0.0
    threshold_sd_db: float = 6.0
    slope_per_db: float = SLOPE_MEDIAN_PER_DB
    slope_log_sd: float = SLOPE_LOG_SD
    guess_rate: float = 0.0
    lapse_weights: tuple[float, ...] = LAPSE_WEIGHTS

    def __post_init__(self) -> None:
        """Check that all parameters are within range."""
        within("threshold_mean_db", self.threshold_mean_db, -30, 30, "dB", label="prior mean")
        for name in ("threshold_sd_db", "slope_log_sd"):
            if not 1e-3 <= getattr(self, name) <= 1e3:
                raise UserError(
                    f"prior SD {getattr(self, name)} is out of range; give 0.001 to 1000",
                    field=name,
                    kind="out_of_range",
                )
        low, high = float(SLOPE_GRID_PER_DB[0]), float(SLOPE_GRID_PER_DB[-1])
        within("slope_per_db", self.slope_per_db, low, high, "per dB", label="slope")
        within("guess_rate", self.guess_rate, 0, 0.4, label="guess rate")
        if len(self.lapse_weights) != len(LAPSE_GRID) or min(self.lapse_weights) < 0:
            raise UserError(
                f"lapse weights {self.lapse_weights} are not valid; "
                f"give {len(LAPSE_GRID)} weights, each 0 or above",
                field="lapse_weights",
                kind="out_of_range",
            )

    @property
    def threshold_grid_db(self) -> FloatArray:
        """Thresholds of the grid in dB, shape (145,), centred on the prior mean."""
        reach = round(GRID_REACH_DB / GRID_STEP_DB)
        first = self.first_grid_step
        return GRID_STEP_DB * np.arange(first, first + 2 * reach + 1, dtype=np.float64)

    @property
    def first_grid_step(self) -> int:
        """Lowest threshold of the grid, as a multiple of GRID_STEP_DB."""
        return round(self.threshold_mean_db / GRID_STEP_DB) - round(GRID_REACH_DB / GRID_STEP_DB)

    def for_estimates(self) -> "Prior":
        """Return the prior for an estimate from a block alone.

        A placement may rest on the slope and the lapse rate of earlier blocks, or on the narrower
        prior of version 0.2.0. The estimate must not: its interval would be too narrow, and the
        errors of successive blocks would depend on each other.
        """
        return replace(
            self,
            slope_per_db=SLOPE_MEDIAN_PER_DB,
            slope_log_sd=ESTIMATE_SLOPE_LOG_SD,
            lapse_weights=ESTIMATE_LAPSE_WEIGHTS,
        )

    def log_density(self) -> FloatArray:
        """Return the logarithm of the prior up to a constant, shape (145, 22, 5)."""
        thresholds_db = self.threshold_grid_db
        log_x50 = -0.5 * ((thresholds_db - self.threshold_mean_db) / self.threshold_sd_db) ** 2
        deviation = np.log(SLOPE_GRID_PER_DB / self.slope_per_db) / self.slope_log_sd
        log_slope = -0.5 * deviation**2
        added = log_slope[:_ADDED_SLOPES]
        added[deviation[:_ADDED_SLOPES] < -_ADDED_SLOPES_REACH_SD] = -np.inf
        log_lapse = np.log(np.maximum(self.lapse_weights, 1e-300))
        return np.asarray(log_x50[:, None, None] + log_slope[:, None] + log_lapse)


@dataclass(frozen=True, eq=False, slots=True)
class _LikelihoodTable:
    """Proportion correct, and logarithms of right and wrong, by threshold minus level; (801, 110).

    Row 400 is a difference of 0 dB; the columns are the 110 combinations of slope and lapse rate.
    """

    proportion: FloatArray
    log_right: FloatArray
    log_wrong: FloatArray


@lru_cache(maxsize=64)
def _likelihood_table(guess_rate: float, offset: int) -> _LikelihoodTable:
    """Return the table for levels that lie offset x 0.01 dB above a multiple of 0.25 dB."""
    rows = np.arange(_TABLE_ROWS, dtype=np.float64)
    threshold_above_level_db = GRID_STEP_DB * rows - _TABLE_REACH_DB - SNR_RESOLUTION_DB * offset
    proportion = proportion_correct_at(
        -threshold_above_level_db[:, None, None],
        0.0,
        SLOPE_GRID_PER_DB[:, None],
        LAPSE_GRID,
        guess_rate,
    )
    flat = np.clip(proportion.reshape(_TABLE_ROWS, -1), PROBABILITY_FLOOR, 1 - PROBABILITY_FLOOR)
    return _LikelihoodTable(proportion=flat, log_right=np.log(flat), log_wrong=np.log1p(-flat))


def _table_rows(prior: Prior, snr_db: float) -> tuple[_LikelihoodTable, slice]:
    """Return the table for a level, and the rows that belong to the prior's threshold grid."""
    grid_steps, offset = divmod(
        round(snr_db / SNR_RESOLUTION_DB), round(GRID_STEP_DB / SNR_RESOLUTION_DB)
    )
    first = prior.first_grid_step + round(_TABLE_REACH_DB / GRID_STEP_DB) - grid_steps
    rows = slice(first, first + 2 * round(GRID_REACH_DB / GRID_STEP_DB) + 1)
    return _likelihood_table(prior.guess_rate, offset), rows


def count_by_level(trials: Iterable[Trial]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the levels in dB in rising order, and the numbers right and wrong at each level.

    Warm-ups are left out. Levels are rounded to SNR_RESOLUTION_DB. All three have shape (levels,).

    Raises: UserError if an SNR is beyond MAX_ABS_SNR_DB or not a number.
    """
    counted = [trial for trial in trials if not trial.warm_up]
    for trial in counted:
        within("snr_db", trial.snr_db, -MAX_ABS_SNR_DB, MAX_ABS_SNR_DB, "dB", label="SNR")
    snr = np.array([round(t.snr_db / SNR_RESOLUTION_DB) for t in counted], dtype=np.float64)
    levels, index = np.unique(snr, return_inverse=True)
    right = np.bincount(index, [t.right for t in counted], minlength=len(levels))
    wrong = np.bincount(index, [not t.right for t in counted], minlength=len(levels))
    return levels * SNR_RESOLUTION_DB, right.astype(np.float64), wrong.astype(np.float64)


def log_likelihood(prior: Prior, trials: Iterable[Trial]) -> FloatArray:
    """Return the log-likelihood on the prior's grid, shape (145, 110); trial order is irrelevant.

    Raises: UserError as `count_by_level` does.
    """
    columns = len(SLOPE_GRID_PER_DB) * len(LAPSE_GRID)
    total = np.zeros((len(prior.threshold_grid_db), columns))
    product = np.empty_like(total)  # reused, because allocating it takes as long as filling it
    for level, right, wrong in zip(*count_by_level(trials), strict=True):
        table, rows = _table_rows(prior, float(level))
        if right:
            total += np.multiply(table.log_right[rows], right, out=product)
        if wrong:
            total += np.multiply(table.log_wrong[rows], wrong, out=product)
    return total


def posterior_weights(prior: Prior, trials: Sequence[Trial]) -> FloatArray:
    """Return the posterior on the grid, shape (145, 110), with sum 1.

    Raises: UserError as `count_by_level` does.
    """
    return normalised_weights(log_likelihood(prior, trials) + _flat_log_density(prior))


@lru_cache(maxsize=8)
def _flat_log_density(prior: Prior) -> FloatArray:
    """Return the logarithm of the prior, shape (145, 110); cached for the items of a block."""
    density = prior.log_density().reshape(len(prior.threshold_grid_db), -1)
    density.flags.writeable = False
    return density


def normalised_weights(log_weights: FloatArray) -> FloatArray:
    """Return weights with sum 1 from unnormalised log-weights, in the same shape."""
    weights = np.exp(log_weights - log_weights.max())
    return np.asarray(weights / weights.sum())


def expected_proportion_correct(prior: Prior, weights: FloatArray, snr_db: float) -> float:
    """Return the posterior expectation of the proportion correct at an SNR in dB.

    weights: posterior as `posterior_weights` returns it for this prior, shape (145, 110).
    """
    table, rows = _table_rows(prior, snr_db)
    # einsum rather than vdot: BLAS would start threads for so small a sum.
    return float(np.einsum("ij,ij->", weights, table.proportion[rows]))
