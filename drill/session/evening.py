"""How many items fill about ten minutes, and how many were answered today."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from drill.records.sessions import RawAttempt

TEN_MINUTES_S = 600.0
USUAL_ITEM_S = 20.0
"""Seconds for an item with its answer and its review, for a trainee whose own pace is unknown.
A first-time user took four minutes for 12 items."""
LONGEST_ITEM_S = 90.0
"""A longer time between two answers is a pause and does not count."""
LEAST_TIMES = 20
"""The trainee's own pace is known from this many times between answers."""
FEWEST_ITEMS, MOST_ITEMS = 20, 60
"""Limits of the number of items, whatever the pace. At 10 to 30 s an item they do not matter."""
DAY_STARTS_HOUR = 4
"""Answers after midnight belong to the evening before."""


def item_seconds(attempts: Sequence[RawAttempt]) -> float:
    """Return the mean time from one answer to the next in s; attempts: oldest first."""
    times = [
        seconds
        for earlier, later in pairwise(attempts)
        if earlier.session == later.session
        and 0 < (seconds := (_time(later) - _time(earlier)).total_seconds()) <= LONGEST_ITEM_S
    ]
    return sum(times) / len(times) if len(times) >= LEAST_TIMES else USUAL_ITEM_S


def items_in_ten_minutes(attempts: Sequence[RawAttempt]) -> int:
    """Return how many items take the trainee about ten minutes; attempts: oldest first."""
    items = round(TEN_MINUTES_S / item_seconds(attempts))
    return min(MOST_ITEMS, max(FEWEST_ITEMS, items))


def answered_today(attempts: Sequence[RawAttempt], *, now: datetime) -> int:
    """Return the number of answers since DAY_STARTS_HOUR; now: local time with its time zone."""
    start = now.replace(hour=DAY_STARTS_HOUR, minute=0, second=0, microsecond=0)
    if start > now:
        start -= timedelta(days=1)
    return sum(start <= _time(attempt) <= now for attempt in attempts)


def _time(attempt: RawAttempt) -> datetime:
    return datetime.fromisoformat(attempt.answered_at)
