"""The character threshold of a quick check: the SNR at which 75 % of characters are right.

The level of the next item follows the proportion of characters right in the last one; 30 items are
enough. The characters of an item share its fading and the listener's attention, so each item has
its own shift, normal with an SD sigma that is estimated too. If characters were counted as
independent, the 95 % interval would cover the true value in only 85 of 100 checks, and far fewer
for whole items.

The threshold refers to the average over these shifts. It is a threshold of single characters: do
not compare it with x50, which refers to whole items.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from drill.core.arrays import FloatArray
from drill.core.errors import UserError
from drill.core.validation import within
from drill.psychometrics.checks import MAX_INTERVAL_DB, Flag
from drill.psychometrics.grid import MAX_ABS_SNR_DB, PROBABILITY_FLOOR, normalised_weights
from drill.psychometrics.intervals import Quantity, posterior_summary

CHARACTER_TARGET = 0.75
"""Proportion of characters right at the threshold. A lower target makes almost every call wrong,
which is discouraging; a higher one needs more items."""
QUICK_CHECK_ITEMS = 30
_MIN_ITEMS = 20
_ASSUMED_SLOPE_PER_DB = 0.12
_FIRST_STEP_FACTOR = 1.5
_STEP_SHRINKAGE = 1.41
_MIN_STEP_FACTOR = 0.1
_LEVEL_STEP_DB = 0.1
_SLOPE_GRID_PER_DB = np.geomspace(0.04, 0.3, 11)
_SLOPE_LOG_SD = 0.5
_SIGMA_GRID_DB = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0])
_SIGMA_SCALE_DB = 2.0
"""Scale of the half-normal prior of sigma."""
_THRESHOLD_STEP_DB = 0.25
_THRESHOLD_REACH_DB = 15.0
_THRESHOLD_SD_DB = 6.0
# Item shifts in units of sigma, evenly spaced: a Gauss quadrature with few nodes would turn a steep
# curve into a staircase.
_SHIFTS = np.linspace(-3, 3, 21)
_SHIFT_WEIGHTS = np.exp(-0.5 * _SHIFTS**2) / np.exp(-0.5 * _SHIFTS**2).sum()


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
    slope_per_db: slope at 50 % of the characters within one item.
    sigma_db: SD of the shifts of single items, caused by fading and attention.
    items, characters: numbers of items and of characters sent. flags: caveats.
    """

    threshold_db: Quantity
    slope_per_db: Quantity
    sigma_db: Quantity
    items: int
    characters: int
    flags: tuple[Flag, ...]


def next_check_level_db(
    start_db: float, trials: Sequence[CharacterTrial], low_db: float = -30.0, high_db: float = 20.0
) -> float:
    """Return the SNR in dB of the next item of a quick check, a multiple of 0.1 dB.

    start_db: SNR of the first item. low_db, high_db: limits of the SNR. The step is
    -f (proportion right - CHARACTER_TARGET) / 0.12 dB, with f = 1.5 x 1.41^-reversals, at least
    0.1.

    Source: T. Brand and B. Kollmeier, J. Acoust. Soc. Am. 111 (2002), 2801-2810.
    """
    if not trials:
        return float(np.clip(start_db, low_db, high_db))
    excess = [trial.right / trial.sent - CHARACTER_TARGET for trial in trials]
    directions = [direction for direction in np.sign(excess) if direction]
    reversals = sum(a != b for a, b in pairwise(directions))
    factor = max(_MIN_STEP_FACTOR, _FIRST_STEP_FACTOR * _STEP_SHRINKAGE**-reversals)
    level = trials[-1].snr_db - factor * excess[-1] / _ASSUMED_SLOPE_PER_DB
    return float(np.clip(round(level / _LEVEL_STEP_DB) * _LEVEL_STEP_DB, low_db, high_db))


def fit_character_threshold(
    trials: Sequence[CharacterTrial], threshold_mean_db: float = 0.0
) -> CharacterThreshold:
    """Return the character threshold; the order of the trials does not matter.

    threshold_mean_db: prior mean of the threshold in dB; the prior SD is 6 dB.

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
    log_prior = (
        -0.5 * ((thresholds[:, None, None] - threshold_mean_db) / _THRESHOLD_SD_DB) ** 2
        - 0.5 * (np.log(_SLOPE_GRID_PER_DB[:, None] / _ASSUMED_SLOPE_PER_DB) / _SLOPE_LOG_SD) ** 2
        - 0.5 * (_SIGMA_GRID_DB / _SIGMA_SCALE_DB) ** 2
        + np.log(np.gradient(_SIGMA_GRID_DB))
    )
    grid = normalised_weights(_log_likelihood(thresholds, trials) + log_prior)
    threshold = posterior_summary(thresholds, grid.sum(axis=(1, 2)))
    return CharacterThreshold(
        threshold_db=threshold,
        slope_per_db=posterior_summary(_SLOPE_GRID_PER_DB, grid.sum(axis=(0, 2))),
        sigma_db=posterior_summary(_SIGMA_GRID_DB, grid.sum(axis=(0, 1))),
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
    """Return the log-likelihood, shape (thresholds, 11 slopes, 7 sigmas)."""
    midpoints_db = thresholds_db[:, None, None] - _target_above_midpoint_db()
    shifts_db = _SIGMA_GRID_DB[:, None] * _SHIFTS
    counts = Counter((trial.snr_db, trial.right, trial.sent) for trial in trials)
    total = np.zeros(midpoints_db.shape)
    for (snr_db, right, sent), times in sorted(counts.items()):
        exponent = (
            4 * _SLOPE_GRID_PER_DB[:, None, None] * (snr_db - midpoints_db[..., None] - shifts_db)
        )
        p = 1 / (1 + np.exp(-np.clip(exponent, -60, 60)))
        p = np.clip(p, PROBABILITY_FLOOR, 1 - PROBABILITY_FLOOR)
        likelihood = p**right * (1 - p) ** (sent - right) @ _SHIFT_WEIGHTS
        total += times * np.log(np.maximum(likelihood, 1e-300))
    return total


@lru_cache(maxsize=1)
def _target_above_midpoint_db() -> FloatArray:
    """Return how far the threshold lies above the midpoint of a single item's curve.

    The threshold is where the average over the item shifts equals CHARACTER_TARGET. Shape (11
    slopes, 7 sigmas), in dB, found by bisection.
    """
    low, high = np.zeros((2, len(_SLOPE_GRID_PER_DB), len(_SIGMA_GRID_DB)))
    high += 60.0
    shifts_db = _SIGMA_GRID_DB[:, None] * _SHIFTS
    for _ in range(50):
        middle = (low + high) / 2
        exponent = 4 * _SLOPE_GRID_PER_DB[:, None, None] * (middle[..., None] - shifts_db)
        below = (1 / (1 + np.exp(-exponent))) @ _SHIFT_WEIGHTS < CHARACTER_TARGET
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(low)
