"""Measurement blocks of the record, the source of all thresholds and trends.

Practice and training never count, because the trainee or the program selects their items and
levels. Blocks are comparable if everything except seed, number of items and SNR is the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from drill.core.errors import FaintcallError
from drill.items.plan import Plan
from drill.psychometrics.grid import MAX_ABS_SNR_DB, Trial
from drill.psychometrics.placement import WARM_UP_ITEMS, Placement
from drill.psychometrics.posterior import Estimate, fit, pool
from drill.records.sessions import AttemptOutcome
from drill.records.store import Store

MEASUREMENT_STORED_NAME = "measuring"
"""Name of the measurement kind in the record."""
MIN_TRIALS = 20
"""Blocks that were stopped with fewer trials are left out of estimates and trends."""
SHORTEST_CALL = 4
"""Number of characters of the shortest call."""
CALL_ALPHABET = 36
"""Number of letters and digits."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasurementBlock:
    """One measurement of the record.

    session: identity of its session. trials: those that count, in their order, without warm-up,
    replays and items without noise.
    """

    session: str
    started: datetime
    plan: Plan
    placement: Placement
    trials: tuple[Trial, ...]

    def estimate(self) -> Estimate:
        """Return the estimate from this block alone, without the slope of earlier blocks."""
        prior = self.placement.prior.for_estimates()
        return fit(self.trials, prior, goodness_rng(self.plan.seed))


def goodness_rng(seed: int) -> np.random.Generator:
    """Return the random generator for the goodness of fit; seed: that of the plan."""
    return np.random.default_rng(seed)


def comparable_setup(plan: Plan) -> dict[str, Any]:
    """Return the part of a plan, as plain data, that comparable blocks have in common."""
    data = plan.to_dict()
    conditions = {k: v for k, v in data["conditions"].items() if k not in ("snr_db", "name")}
    common = {k: v for k, v in data.items() if k not in ("seed", "count", "conditions")}
    if plan.part == "call":
        del common["exchange"]
    return {**common, "conditions": conditions}


def call_guess_rate() -> float:
    """Return the probability of guessing every character of the shortest call."""
    return float(CALL_ALPHABET) ** -SHORTEST_CALL


def measurement_blocks(store: Store, plan: Plan | None = None) -> list[MeasurementBlock]:
    """Return the measurement blocks of the record, oldest first.

    plan: return only blocks that are comparable with it. Sessions that this version cannot use are
    left out, for example if their exchange is gone or if an imported one is damaged.
    """
    blocks = []
    for session in reversed(store.sessions(modes=(MEASUREMENT_STORED_NAME,))):
        try:
            block_plan = Plan.from_dict(session.plan)
            placement = Placement.from_dict(session.course.get("placement"))
        except FaintcallError:
            continue
        if plan is not None and comparable_setup(block_plan) != comparable_setup(plan):
            continue
        trials = tuple(
            Trial(snr_db=outcome.snr_db or 0.0, right=outcome.right)
            for outcome in store.attempt_outcomes(session.id)[placement.warm_ups :]
            if counts_as_trial(outcome)
        )
        if len(trials) >= MIN_TRIALS:
            blocks.append(
                MeasurementBlock(
                    session=session.id,
                    started=datetime.fromisoformat(session.started),
                    plan=block_plan,
                    placement=placement,
                    trials=trials,
                )
            )
    return blocks


def counts_as_trial(outcome: AttemptOutcome) -> bool:
    """Return whether an answer after the warm-up is a trial: in noise and without a replay."""
    snr_db = outcome.snr_db
    return snr_db is not None and abs(snr_db) <= MAX_ABS_SNR_DB and not outcome.replays


def pooled_estimate(blocks: Sequence[MeasurementBlock]) -> Estimate:
    """Return one estimate from at least one block, with the threshold prior of the first.

    The priors of later blocks contain data of the first block, which would then count twice.
    """
    first = blocks[0]
    trials = [block.trials for block in blocks]
    prior = first.placement.prior.for_estimates()
    return pool(trials, prior, goodness_rng(first.plan.seed))


def warm_ups_for(store: Store) -> int:
    """Return the number of warm-up items: none if the record has a measurement block."""
    return 0 if measurement_blocks(store) else WARM_UP_ITEMS
