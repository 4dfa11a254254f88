"""Searches the record for data that faintcall cannot have written."""

from collections.abc import Callable

from drill.core.errors import UserError
from drill.core.validation import checked_table, json_value
from drill.records.database import RecordDatabase
from drill.records.failures import damaged_data
from drill.records.reading import checked_attempt_result, checked_session_start, checked_time


def report_damage(record: RecordDatabase) -> None:
    """Raise UserError for the first damaged session, attempt or take; return if there is none."""
    with record.transaction(writes=False) as db:
        for query, place, check in _CHECKS:
            for row in db.execute(query):
                try:
                    check(*row)
                except UserError as error:
                    raise damaged_data(record.path, place.format(*row), error) from None


def _check_session(_: str, started: str, mode: str, plan: str, version: str, course: str) -> None:
    checked_session_start(
        {
            "started": started,
            "mode": mode,
            "plan": json_value(plan),
            "version": version,
            "course": json_value(course),
        }
    )


def _check_attempt(_: str, __: int, answered_at: str, item: str, answer: str, scores: str) -> None:
    checked_time("at", answered_at)
    data = {"item": json_value(item), "answer": json_value(answer), "scores": json_value(scores)}
    checked_attempt_result(data)


def _check_take(_: int, recorded_at: str, prompt: str, review: str) -> None:
    checked_time("at", recorded_at)
    checked_table("prompt", json_value(prompt))
    checked_table("review", json_value(review))


_CHECKS: tuple[tuple[str, str, Callable[..., None]], ...] = (
    (
        "SELECT id, started, mode, plan, version, course FROM sitting",
        "session {0}",
        _check_session,
    ),
    (
        "SELECT sitting, number, at, item, answer, scores FROM attempt",
        "session {0}, item number {1}",
        _check_attempt,
    ),
    ("SELECT id, at, prompt, review FROM take", "take {0}", _check_take),
)
"""Query, place for the message, and check of each table."""
