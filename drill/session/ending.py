"""The first figures of a finished practice session: score, SNRs, and comparison by week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from drill.core.models import Attempt
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.attempts import SessionTally, tally_attempts
from drill.session.weeks import WeekComparison, compare_weeks


@dataclass(frozen=True, kw_only=True, slots=True)
class PracticeEnding:
    """The figures of a practice session with at least one answer.

    part: what each item was, as in the plan. lowest_db, highest_db: SNRs of its items in 3 kHz,
    None if no item had noise. week: None with too few items of one week.
    """

    part: str
    tally: SessionTally
    lowest_db: float | None
    highest_db: float | None
    week: WeekComparison | None


def practice_ending(
    plan: Plan, attempts: Sequence[Attempt], store: Store, *, now: datetime
) -> PracticeEnding:
    """Return the figures of a session; attempts: at least one. now: with a time zone."""
    levels = [
        attempt.item.conditions.snr_db
        for attempt in attempts
        if attempt.item.conditions.snr_db is not None
    ]
    return PracticeEnding(
        part=plan.part,
        tally=tally_attempts(attempts),
        lowest_db=min(levels, default=None),
        highest_db=max(levels, default=None),
        week=compare_weeks(store, plan, now=now),
    )
