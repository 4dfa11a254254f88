"""How many items fill ten minutes, and how many were answered today."""

from datetime import UTC, datetime, timedelta

import pytest

from drill.records.sessions import RawAttempt
from drill.session.evening import (
    FEWEST_ITEMS,
    LEAST_TIMES,
    MOST_ITEMS,
    answered_today,
    items_in_ten_minutes,
)

EVENING = datetime(2026, 3, 1, 20, tzinfo=UTC)


def attempts(*seconds: float, session: str = "a") -> list[RawAttempt]:
    """Return attempts at these times in s after EVENING."""
    return [
        RawAttempt(
            mode="practice",
            session=session,
            number=number,
            answered_at=(EVENING + timedelta(seconds=second)).isoformat(),
            snr_db=0.0,
            right=True,
            item={},
            answer={},
            scores=[],
        )
        for number, second in enumerate(seconds)
    ]


def steady(seconds: float) -> list[RawAttempt]:
    return attempts(*(number * seconds for number in range(LEAST_TIMES + 1)))


def test_an_unknown_pace_gives_thirty_items() -> None:
    assert items_in_ten_minutes([]) == 30
    assert items_in_ten_minutes(steady(12.0)[:-1]) == 30


@pytest.mark.parametrize(
    ("seconds", "items"), [(12.0, 50), (25.0, 24), (5.0, MOST_ITEMS), (80.0, FEWEST_ITEMS)]
)
def test_the_own_pace_gives_the_number_of_items(seconds: float, items: int) -> None:
    assert items_in_ten_minutes(steady(seconds)) == items


def test_pauses_and_the_time_between_sessions_do_not_count() -> None:
    first = steady(12.0)
    after_a_pause = attempts(*(4000 + 12.0 * number for number in range(3)))
    other_session = attempts(4050, 4062, session="b")
    assert items_in_ten_minutes([*first, *after_a_pause, *other_session]) == 50


def test_the_night_belongs_to_the_evening_before() -> None:
    seen = attempts(-17 * 3600, -3600, 0, 4 * 3600)  # at 3, 19, 20 and 0 o'clock
    assert answered_today(seen, now=EVENING + timedelta(hours=5)) == 3
    assert answered_today(seen, now=EVENING) == 2
    assert answered_today(seen, now=EVENING + timedelta(hours=8)) == 0
