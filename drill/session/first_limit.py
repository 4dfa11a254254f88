"""Where first steps became hard: the SNR at which about half of the items were right."""

from collections.abc import Sequence
from dataclasses import dataclass

from drill.core.models import Attempt
from drill.psychometrics.grid import Prior
from drill.psychometrics.intervals import Interval
from drill.psychometrics.posterior import threshold_interval
from drill.session.attempts import trials_of

LEAST_TRIALS = 8
"""Fewer items allow no conclusion."""
PRIOR_SD_DB = 10.0
"""SD of the threshold's prior around the middle of the SNRs that were played."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FirstLimit:
    """Where first steps became hard.

    clear_right: whether the items without noise were right, None if there was none. answered,
    right: items in noise that were heard once. lowest_db, highest_db: their SNRs in dB in 3 kHz.
    half_db: SNR at which half of them are right, with its 95 % interval; below lowest_db if it did
    not get hard, and above highest_db if it was hard from the start.
    """

    clear_right: bool | None
    answered: int
    right: int
    lowest_db: float
    highest_db: float
    half_db: Interval

    @property
    def hard_from_the_start(self) -> bool:
        """True if even the strongest items were too hard."""
        return not self.right or self.half_db.value > self.highest_db

    @property
    def never_hard(self) -> bool:
        """True if even the weakest items were not hard."""
        return self.right == self.answered or self.half_db.value < self.lowest_db


def find_first_limit(attempts: Sequence[Attempt]) -> FirstLimit | None:
    """Return where the items became hard, None with fewer than LEAST_TRIALS items heard once."""
    trials = trials_of(attempts)
    if len(trials) < LEAST_TRIALS:
        return None
    levels = [trial.snr_db for trial in trials]
    middle_db = (min(levels) + max(levels)) / 2
    prior = Prior(threshold_mean_db=middle_db, threshold_sd_db=PRIOR_SD_DB).for_estimates()
    clear = [attempt for attempt in attempts if attempt.item.conditions.snr_db is None]
    return FirstLimit(
        clear_right=all(attempt.right for attempt in clear) if clear else None,
        answered=len(trials),
        right=sum(trial.right for trial in trials),
        lowest_db=min(levels),
        highest_db=max(levels),
        half_db=threshold_interval(trials, prior),
    )
