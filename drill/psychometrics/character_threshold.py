"""The quick check: where CHARACTER_TARGET of the characters are copied right. Never to be mixed up with x50.

The level moves after each item by the share of its characters that was right; 30 items do. The
characters of an item share its fading and the listener's attention: each item has a shift of its
own, normal with an SD sigma that is estimated too. Counted as independent, the characters would
give an interval that holds the truth in 85 of 100 checks, and much worse for whole items.

The threshold is that of the average over such shifts, so that it can be read off as it is.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from drill.core.errors import UserError
from drill.psychometrics.checks import Flag
from drill.psychometrics.curve import Floats
from drill.psychometrics.grid import FLOOR, WIDEST_DB, normal
from drill.psychometrics.intervals import Quantity, summary

CHARACTER_TARGET = 0.75
"""Below, almost every call is wrong, which people bear badly; above, more items are needed."""
ITEMS = 30
SLOPE_PER_DB = 0.12
FIRST_STEP = 1.5
SHRINK = 1.41
LEAST_STEP = 0.1
READ_DB = 0.1
SLOPES = np.geomspace(0.04, 0.3, 11)
SLOPE_LOG_SD = 0.5
SIGMAS_DB = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0])
SIGMA_SCALE_DB = 2.0
"""The prior of sigma is half normal with this SD."""
STEP_DB = 0.25
SPAN_DB = 15.0
GUESS_SD_DB = 6.0
FEWEST = 20
WIDEST_INTERVAL_DB = 3.5
# Evenly spaced: a quadrature of few nodes turns a steep curve into a staircase.
_NODES = np.linspace(-3, 3, 21)
_WEIGHTS = np.exp(-0.5 * _NODES**2) / np.exp(-0.5 * _NODES**2).sum()


@dataclass(frozen=True, kw_only=True, slots=True)
class CharacterTrial:
    """One item of a quick check: SNR in dB, characters right, characters sent.

    Raises: UserError where more are right than sent, none was sent, or the SNR is beyond 50 dB.
    """

    snr_db: float
    right: int
    sent: int

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if not 0 <= self.right <= self.sent or not self.sent:
            raise UserError(f"{self.right} characters right of {self.sent}: that cannot be")
        if not abs(self.snr_db) <= WIDEST_DB:
            raise UserError(f"a trial at {self.snr_db} dB; allowed: -50 to 50 dB")


@dataclass(frozen=True, kw_only=True)
class CharacterThreshold:
    """Where CHARACTER_TARGET of the characters are right, in dB: not a threshold of whole items.

    slope_per_db: slope at 50 % of the characters within one item. sigma_db: SD of the items' own
    shifts, by fading and attention.
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
    """Return the SNR in dB of the next item of a quick check, on whole READ_DB.

    The step is -f (share right - CHARACTER_TARGET) / slope, f = 1.5 x 1.41^-reversals, at least 0.1.

    Source: T. Brand and B. Kollmeier, J. Acoust. Soc. Am. 111 (2002), 2801-2810.
    """
    if not trials:
        return float(np.clip(start_db, low_db, high_db))
    above = [trial.right / trial.sent - CHARACTER_TARGET for trial in trials]
    ways = [way for way in np.sign(above) if way]
    reversals = sum(a != b for a, b in pairwise(ways))
    factor = max(LEAST_STEP, FIRST_STEP * SHRINK**-reversals)
    level = trials[-1].snr_db - factor * above[-1] / SLOPE_PER_DB
    return float(np.clip(round(level / READ_DB) * READ_DB, low_db, high_db))


@lru_cache(maxsize=1)
def _offsets_db() -> Floats:
    """Return how far CHARACTER_TARGET of the average lies above the middle of an item's curve: (11, 7) dB."""
    low, high = np.zeros((2, len(SLOPES), len(SIGMAS_DB)))
    high += 60.0
    for _ in range(50):
        middle = (low + high) / 2
        depth = 4 * SLOPES[:, None, None] * (middle[..., None] - SIGMAS_DB[:, None] * _NODES)
        under = (1 / (1 + np.exp(-depth))) @ _WEIGHTS < CHARACTER_TARGET
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.asarray(low)


def _log_likelihood(thresholds_db: Floats, trials: Sequence[CharacterTrial]) -> Floats:
    """Return the logarithm of the likelihood, (thresholds, 11 slopes, 7 sigmas)."""
    middle = thresholds_db[:, None, None] - _offsets_db()
    shifts = SIGMAS_DB[:, None] * _NODES
    kinds = Counter((trial.snr_db, trial.right, trial.sent) for trial in trials)
    total = np.zeros(middle.shape)
    for (snr_db, right, sent), times in sorted(kinds.items()):
        depth = 4 * SLOPES[:, None, None] * (snr_db - middle[..., None] - shifts)
        share = np.clip(1 / (1 + np.exp(-np.clip(depth, -60, 60))), FLOOR, 1 - FLOOR)
        likely = share**right * (1 - share) ** (sent - right) @ _WEIGHTS
        total += times * np.log(np.maximum(likely, 1e-300))
    return total


def fit_character_threshold(
    trials: Sequence[CharacterTrial], threshold_mean_db: float = 0.0
) -> CharacterThreshold:
    """Return the character threshold; the order of the trials is of no account.

    threshold_mean_db: what was thought before, known to GUESS_SD_DB. Raises: UserError without a trial.
    """
    if not trials:
        raise UserError("there is nothing to fit: no item has been answered")
    centre = round(threshold_mean_db / STEP_DB) * STEP_DB
    thresholds = np.arange(centre - SPAN_DB, centre + SPAN_DB + STEP_DB / 2, STEP_DB)
    before = (
        -0.5 * ((thresholds[:, None, None] - threshold_mean_db) / GUESS_SD_DB) ** 2
        - 0.5 * (np.log(SLOPES[:, None] / SLOPE_PER_DB) / SLOPE_LOG_SD) ** 2
        - 0.5 * (SIGMAS_DB / SIGMA_SCALE_DB) ** 2
        + np.log(np.gradient(SIGMAS_DB))
    )
    grid = normal(_log_likelihood(thresholds, trials) + before)
    threshold = summary(thresholds, grid.sum(axis=(1, 2)))
    flags = []
    if len(trials) < FEWEST:
        flags.append(Flag(key="few", words=f"{len(trials)} items are too few; {ITEMS} do"))
    if threshold.high - threshold.low > WIDEST_INTERVAL_DB:
        wide = "the interval is too wide to say where the threshold is"
        flags.append(Flag(key="wide", words=wide))
    return CharacterThreshold(
        threshold_db=threshold,
        slope_per_db=summary(SLOPES, grid.sum(axis=(0, 2))),
        sigma_db=summary(SIGMAS_DB, grid.sum(axis=(0, 1))),
        items=len(trials),
        characters=sum(trial.sent for trial in trials),
        flags=tuple(flags),
    )
