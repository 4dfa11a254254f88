"""Which SNR comes next.

Targets of 35, 65 and 85 % right come in threes, each three in an order of its own. The level is
the one at which the posterior expects the target. Of the rules tried this measures x50 and x80
best together, and 62 % of the items are right.

The next level is a function of the placement and the trials so far and of nothing else: a block
that was broken off goes on as if it had not been.
"""

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from drill.core.errors import UserError
from drill.psychometrics.grid import WIDEST_DB, Prior, Trial, predict, weigh
from drill.psychometrics.posterior import fit

MEASUREMENT_TARGETS = (0.35, 0.65, 0.85)
"""Shares right aimed at in measuring."""
PRACTICE_TARGETS = (0.60, 0.80, 0.92)
"""Shares right aimed at in practice, 78 % together: a convention, 70 to 85 % is as well founded."""
STEP_DB = 0.5
LEAST_ITEMS = 40
WARM_UP_DB = 10.0
WARM_UP_ITEMS = 5
"""Items that a new listener hears first, clearly audible; they are not counted."""

_RELEASED = {
    "threshold_mean_db": "guess_db",
    "threshold_sd_db": "guess_sd_db",
    "guess_rate": "chance",
}
# Keys of a stored prior, by the name of today's field: records of 0.2.0 have them.


@dataclass(frozen=True, kw_only=True, slots=True)
class Placement:
    """How levels are chosen.

    low_db, high_db: the range, both ends included. warm_ups: items at WARM_UP_DB before the first
    that counts; WARM_UP_ITEMS for a new listener.

    Raises: UserError where the range is empty or a target is not between 0 and 1.
    """

    seed: int
    prior: Prior = field(default_factory=Prior)
    targets: tuple[float, ...] = MEASUREMENT_TARGETS
    low_db: float = -24.0
    high_db: float = 20.0
    warm_ups: int = 0

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if not -WIDEST_DB <= self.low_db < self.high_db <= WIDEST_DB:
            raise UserError(f"SNR from {self.low_db} to {self.high_db} dB is no range within 50 dB")
        if not self.targets or not all(0 < q < 1 for q in self.targets):
            raise UserError(f"targets {self.targets}; each must be between 0 and 1")

    def to_dict(self) -> dict[str, Any]:
        """Return the placement as plain data, with the keys that records since 0.2.0 have."""
        prior = {_RELEASED.get(key, key): value for key, value in asdict(self.prior).items()}
        return {**asdict(self), "prior": prior}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Placement":
        """Return the placement that to_dict wrote, also after a trip through JSON."""
        names = {key: name for name, key in _RELEASED.items()}
        prior = {names.get(key, key): value for key, value in data["prior"].items()}
        prior["lapse_weights"] = tuple(prior["lapse_weights"])
        values = {**data, "prior": Prior(**prior), "targets": tuple(data["targets"])}
        return cls(**values)


@dataclass(frozen=True, kw_only=True, slots=True)
class StimulusLevel:
    """The SNR of the next item, the share right aimed at, and whether it only warms up."""

    snr_db: float
    target: float
    warm_up: bool


def next_level(placement: Placement, trials: Sequence[Trial]) -> StimulusLevel:
    """Return the level of the next item, on whole STEP_DB, after these trials in their order.

    Raises: UserError where a trial's SNR is none.
    """
    levels = STEP_DB * np.arange(
        math.ceil(placement.low_db / STEP_DB), math.floor(placement.high_db / STEP_DB) + 1
    )
    if sum(t.warm_up for t in trials) < placement.warm_ups:
        return StimulusLevel(
            snr_db=float(np.clip(WARM_UP_DB, levels[0], levels[-1])), target=1, warm_up=True
        )
    done = sum(not t.warm_up for t in trials)
    turn, place = divmod(done, len(placement.targets))
    order = np.random.default_rng([placement.seed, turn]).permutation(len(placement.targets))
    target = placement.targets[order[place]]
    weights = weigh(placement.prior, trials)

    def expected(snr_db: float) -> float:
        return predict(placement.prior, weights, float(snr_db))

    above = bisect_left(levels, target, key=expected)
    near = levels[max(above - 1, 0) : above + 1]
    snr_db = min(near, key=lambda level: abs(expected(level) - target))
    return StimulusLevel(snr_db=float(snr_db), target=target, warm_up=False)


@dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """When a block ends: after so many items that count, or where x50's interval is narrow enough.

    width_db: full width of the 95 % interval in dB; None to go by the count alone. It is looked at
    from LEAST_ITEMS on; sooner, a narrow interval is mostly luck.

    Raises: UserError where a number is not above 0.
    """

    items: int = 60
    width_db: float | None = None

    def __post_init__(self) -> None:
        """Refuse a value outside its range."""
        if self.items < 1 or not (self.width_db is None or self.width_db > 0):
            raise UserError(f"a block of {self.items} items to {self.width_db} dB; both above 0")

    def reached(self, trials: Sequence[Trial], prior: Prior) -> bool:
        """Return True where the block is to end after these trials."""
        done = sum(not t.warm_up for t in trials)
        if done >= self.items:
            return True
        if self.width_db is None or done < LEAST_ITEMS:
            return False
        x50_db = fit(trials, prior, np.random.default_rng(0)).x50_db
        return x50_db.high - x50_db.low <= self.width_db
