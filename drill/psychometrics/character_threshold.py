"""The character threshold of a quick check: the SNR at which 75 % of characters are right.

Two tracks alternate, one that aims at 65 % and one that aims at 85 % of characters right. Each
level follows the proportion right in the last item of its track; 30 items are enough. Two targets
are needed to estimate the slope; from levels at a single target neither the slope nor the interval
can be determined.

The characters of an item share its fading and the listener's attention, so the number right in an
item has a beta-binomial distribution, whose correlation is estimated too. If characters were
counted as independent, the 95 % interval would contain the true value in only 85 of 100 checks.

The threshold refers to the average over all items. It is a threshold of single characters: do not
compare it with x50, which refers to whole items.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError
from drill.core.validation import within
from drill.psychometrics.checks import MAX_INTERVAL_DB, Flag
from drill.psychometrics.grid import MAX_ABS_SNR_DB, normalised_weights
from drill.psychometrics.intervals import Quantity, posterior_summary

CHARACTER_TARGET = 0.75
"""Proportion of characters right at the threshold. A lower proportion makes almost every call
wrong, which is discouraging; a higher one needs more items."""
CHARACTER_TAIL = 0.028
"""Proportion of the posterior beyond either end of the interval of the threshold."""
CHECK_TARGETS = (0.65, 0.85)
"""Proportions of characters right that the two tracks aim at."""
QUICK_CHECK_ITEMS = 30
_MIN_ITEMS = 20
_ASSUMED_SLOPE_PER_DB = 0.12
_FIRST_STEP_FACTOR = 1.5
_STEP_SHRINKAGE = 1.41
_MIN_STEP_FACTOR = 0.1
_LEVEL_STEP_DB = 0.1
_SLOPE_GRID_PER_DB = np.geomspace(0.02, 0.6, 13)
_SLOPE_LOG_SD = 3.0
_LAPSE_GRID = np.array([0.0, 0.03, 0.07])
_LAPSE_WEIGHTS = np.array([0.5, 0.35, 0.15])
_CORRELATION_GRID = np.array([1e-3, 0.04, 0.1, 0.25, 0.5, 0.75])
"""The lowest value represents independent characters."""
_CORRELATION_WEIGHTS = np.array([0.65, 0.13, 0.08, 0.07, 0.04, 0.03])
_THRESHOLD_STEP_DB = 0.25
_THRESHOLD_REACH_DB = 18.0
_THRESHOLD_SD_DB = 6.0
_PROBABILITY_FLOOR = 1e-4
"""Probabilities of a single character are kept this far from 0 and 1, because typing errors are
always possible."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CharacterTrial:
    """One item of a quick check: SNR in dB, characters right, characters sent.

    Raises: UserError if no character was sent, if more are right than sent, or if the SNR is beyond
    50 dB.
    """

    snr_db: float
    right: int
    sent: int

    def __post_init__(self) -> None:
        """Check counts and SNR."""
        if not 0 <= self.right <= self.sent or not self.sent:
            raise UserError(
                f"{self.right} of {self.sent} characters right is not possible; "
                "give at least one character sent and no more right than sent",
                field="right",
                kind="out_of_range",
            )
        within("snr_db", self.snr_db, -MAX_ABS_SNR_DB, MAX_ABS_SNR_DB, "dB", label="SNR")


@dataclass(frozen=True, kw_only=True)
class CharacterThreshold:
    """The result of a quick check.

    threshold_db: SNR at which CHARACTER_TARGET of the characters are right, in dB.
    slope_per_db: slope of the proportion right, without lapses, where it is 50 %.
    correlation: correlation of the characters of one item, 0 to 1: shared fading and attention.
    items, characters: numbers of items and of characters sent. flags: caveats.
    """

    threshold_db: Quantity
    slope_per_db: Quantity
    correlation: Quantity
    items: int
    characters: int
    flags: tuple[Flag, ...]


def next_check_level_db(
    start_db: float,
    trials: Sequence[CharacterTrial],
    low_db: float = -30.0,
    high_db: float = 20.0,
    *,
    targets: Sequence[float] = (CHARACTER_TARGET,),
) -> float:
    """Return the SNR in dB of the next item of a quick check, a multiple of 0.1 dB.

    start_db: SNR of the first item of each track. low_db, high_db: limits of the SNR. targets:
    proportion of characters right that each track aims at; the tracks take turns. The step is
    -f (proportion right - target) / 0.12 dB, with f = 1.5 x 1.41^-reversals, at least 0.1.

    Source: T. Brand and B. Kollmeier, J. Acoust. Soc. Am. 111 (2002), 2801-2810.
    """
    turn = len(trials) % len(targets)
    track = trials[turn :: len(targets)]
    if not track:
        return float(np.clip(start_db, low_db, high_db))
    excess = [trial.right / trial.sent - targets[turn] for trial in track]
    directions = [direction for direction in np.sign(excess) if direction]
    reversals = sum(a != b for a, b in pairwise(directions))
    factor = max(_MIN_STEP_FACTOR, _FIRST_STEP_FACTOR * _STEP_SHRINKAGE**-reversals)
    level = track[-1].snr_db - factor * excess[-1] / _ASSUMED_SLOPE_PER_DB
    return float(np.clip(round(level / _LEVEL_STEP_DB) * _LEVEL_STEP_DB, low_db, high_db))


def fit_character_threshold(
    trials: Sequence[CharacterTrial], threshold_mean_db: float = 0.0
) -> CharacterThreshold:
    """Return the character threshold; the order of the trials does not matter.

    threshold_mean_db: prior mean of the threshold in dB; the prior SD is 6 dB. The prior of the
    slope is almost flat, as that of `grid.Prior`.

    Raises: UserError if there is no trial.
    """
    if not trials:
        raise UserError("there is nothing to fit: no item has been answered")
    centre = round(threshold_mean_db / _THRESHOLD_STEP_DB) * _THRESHOLD_STEP_DB
    thresholds = np.arange(
        centre - _THRESHOLD_REACH_DB,
        centre + _THRESHOLD_REACH_DB + _THRESHOLD_STEP_DB / 2,
        _THRESHOLD_STEP_DB,
    )
    log_slope = np.log(_SLOPE_GRID_PER_DB / _ASSUMED_SLOPE_PER_DB)
    log_prior = (
        -0.5 * ((thresholds[:, None, None, None] - threshold_mean_db) / _THRESHOLD_SD_DB) ** 2
        - 0.5 * (log_slope[:, None, None] / _SLOPE_LOG_SD) ** 2
        + np.log(_LAPSE_WEIGHTS[:, None])
        + np.log(_CORRELATION_WEIGHTS)
    )
    grid = normalised_weights(_log_likelihood(thresholds, trials) + log_prior)
    threshold = posterior_summary(
        thresholds, grid.sum(axis=(1, 2, 3)), median=True, tail=CHARACTER_TAIL
    )
    return CharacterThreshold(
        threshold_db=threshold,
        slope_per_db=posterior_summary(_SLOPE_GRID_PER_DB, grid.sum(axis=(0, 2, 3)), median=True),
        correlation=posterior_summary(_CORRELATION_GRID, grid.sum(axis=(0, 1, 2))),
        items=len(trials),
        characters=sum(trial.sent for trial in trials),
        flags=_flags(len(trials), threshold),
    )


def _flags(items: int, threshold: Quantity) -> tuple[Flag, ...]:
    """Return the caveats about a character threshold."""
    flags = []
    if items < _MIN_ITEMS:
        flags.append(Flag(key="few", figures={"n": items, "required": QUICK_CHECK_ITEMS}))
    width_db = threshold.high - threshold.low
    if width_db > MAX_INTERVAL_DB:
        flags.append(Flag(key="wide", figures={"width_db": width_db}))
    return tuple(flags)


def _log_likelihood(thresholds_db: FloatArray, trials: Sequence[CharacterTrial]) -> FloatArray:
    """Return the log-likelihood, shape (thresholds, 13 slopes, 3 lapse rates, 6 correlations).

    Source: the beta-binomial distribution, J. G. Skellam, J. R. Stat. Soc. B 10 (1948), 257-261.
    """
    f = CHARACTER_TARGET / (1 - _LAPSE_GRID)
    at_threshold = np.log(f / (1 - f))
    counts = Counter((trial.snr_db, trial.right, trial.sent) for trial in trials)
    shape = (len(thresholds_db), *map(len, (_SLOPE_GRID_PER_DB, _LAPSE_GRID, _CORRELATION_GRID)))
    total = np.zeros(shape)
    for (snr_db, right, sent), times in sorted(counts.items()):
        distance_db = (snr_db - thresholds_db)[:, None, None]
        exponent = at_threshold + 4 * _SLOPE_GRID_PER_DB[:, None] * distance_db
        p = (1 - _LAPSE_GRID) / (1 + np.exp(-np.clip(exponent, -60, 60)))
        p = np.clip(p, _PROBABILITY_FLOOR, 1 - _PROBABILITY_FLOOR)[..., None]
        total += times * _log_beta_binomial(p, right, sent)
    return total


def _log_beta_binomial(p: FloatArray, right: int, sent: int) -> FloatArray:
    """Return the log-probability of the number right, up to a constant, shape (..., 6).

    p: mean proportion right, shape (..., 1). A product over the characters is faster than the beta
    function; its factors are at most 1000, so 100 characters are far from an overflow.
    """
    size = (1 - _CORRELATION_GRID) / _CORRELATION_GRID
    product = np.ones(np.broadcast_shapes(p.shape, size.shape))
    for proportion, count in ((p, right), (1 - p, sent - right)):
        factor = proportion * size
        for _ in range(count):
            product *= factor
            factor += 1
    log_total = np.log(size + np.arange(sent)[:, None]).sum(axis=0)
    return np.asarray(np.log(product) - log_total)
