"""This week compared with the week before: the share of items copied at one SNR, with its interval.

Only items that were drawn at random count, under the same set-up, in noise and heard once. The
share of right answers itself says nothing, because training sets the SNR by the answers. Therefore
one psychometric function is fitted to each week, and both are read at an SNR that occurred often
enough in both weeks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from drill.core.errors import FaintcallError
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior, Trial
from drill.psychometrics.intervals import Interval, difference_interval
from drill.psychometrics.posterior import Estimate, pool
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.blocks import comparable_setup, counts_as_trial, goodness_rng
from drill.session.kinds import find_kind

WEEK = timedelta(days=7)
MOST_SESSIONS = 200
"""Number of the newest sessions that are searched."""
MIN_WEEK_TRIALS = 30
"""Minimum number of items in each week for a comparison."""
COMMON_RANGE = (0.1, 0.9)
"""The SNR of the comparison lies between these quantiles of the SNRs of either week."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WeekComparison:
    """Share of items copied this week and the week before, at one SNR, from 0 to 1.

    snr_db: in 3 kHz. difference: this week minus the week before. n_before, n_now: items.
    """

    snr_db: float
    before: Interval
    now: Interval
    difference: Interval
    n_before: int
    n_now: int

    @property
    def shown(self) -> bool:
        """True if the difference is more than chance (95 %)."""
        return not self.difference.low <= 0 <= self.difference.high


def compare_weeks(store: Store, plan: Plan, *, now: datetime) -> WeekComparison | None:
    """Return the comparison for sessions like that of a plan; None with too few items.

    now: end of this week, with a time zone.
    """
    setup = comparable_setup(plan)
    this_week, week_before = list[list[Trial]](), list[list[Trial]]()
    for record in store.sessions(MOST_SESSIONS):
        age = now - datetime.fromisoformat(record.started)
        if age >= 2 * WEEK:
            break  # the newest sessions come first
        trials = _random_trials(record, setup, store)
        if trials and age >= timedelta(0):
            (this_week if age < WEEK else week_before).append(trials)
    if min(_count(this_week), _count(week_before)) < MIN_WEEK_TRIALS:
        return None
    return _compare(week_before[::-1], this_week[::-1])


def _random_trials(record: SessionRecord, setup: dict[str, Any], store: Store) -> list[Trial]:
    """Return the trials of a session that count; empty for measurements and other set-ups."""
    kind = find_kind(record.mode)
    if kind is None or kind.activity != "practise" or not record.answered:
        return []
    try:
        if comparable_setup(Plan.from_dict(record.plan)) != setup:
            return []
    except FaintcallError:
        return []
    return [
        Trial(snr_db=outcome.snr_db or 0.0, right=outcome.right)
        for number, outcome in enumerate(store.attempt_outcomes(record.id))
        if kind.is_drawn_at_random(number) and counts_as_trial(outcome)
    ]


def _compare(
    before: Sequence[Sequence[Trial]], now: Sequence[Sequence[Trial]]
) -> WeekComparison | None:
    """Return the comparison; None if no SNR occurred often enough in both weeks."""
    levels = [np.array([t.snr_db for block in week for t in block]) for week in (before, now)]
    ranges = np.array([np.quantile(week, COMMON_RANGE) for week in levels])
    low_db, high_db = ranges[:, 0].max(), ranges[:, 1].min()
    if low_db > high_db:
        return None
    snr_db = round(float(np.clip(np.median(np.concatenate(levels)), low_db, high_db)), 1)
    estimates: list[Estimate] = [pool(week, Prior(), goodness_rng(0)) for week in (before, now)]
    shares = [estimate.proportion_correct(snr_db) for estimate in estimates]
    return WeekComparison(
        snr_db=snr_db,
        before=shares[0],
        now=shares[1],
        difference=difference_interval(shares[1], shares[0]),
        n_before=_count(before),
        n_now=_count(now),
    )


def _count(week: Sequence[Sequence[Trial]]) -> int:
    return sum(len(trials) for trials in week)
