"""A sitting of the record, and what the page may know of it."""

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import asdict
from typing import Any

from drill.core.models import Attempt
from drill.core.structuring import to_data
from drill.core.validation import shown
from drill.records.store import Store
from drill.scoring.answers import points
from drill.session import blocks
from drill.session.session import Practice
from drill.session.standing import announced, standing
from drill.web.database import NotFoundError
from phonetics.callsigns import FICTION

State = dict[str, Any]


def practice_of(
    store: Store, identity: str, spoken: Callable[[], dict[int, Future[None]]] = dict
) -> Practice:
    """Return a sitting as the record has it. Raises: NotFoundError; UserError where it cannot go on."""
    sitting = store.sitting(identity)
    if sitting is None:
        raise NotFoundError(f"there is no sitting {shown(identity)}")
    return Practice(
        blocks.course_of(sitting),
        store,
        identity=identity,
        attempts=store.attempts(identity),
        spoken=spoken(),
        patient=True,  # all speech is made in the worker process: this one has to answer
    )


def state(practice: Practice) -> State:
    """Return the state of a sitting as the page gets it."""
    course = practice.course
    return {
        "id": practice.identity,
        "kind": course.mode,
        "sentence": announced(course),
        "count": course.count,
        "number": practice.number,
        "finished": practice.finished,
        "replays": course.replays,
        "feedback": course.feedback,
        "standing": standing(practice),
        "fiction": f"Calls are {FICTION}.",
        "items": course.plan.part,
    }


def told(practice: Practice, attempt: Attempt) -> dict[str, Any]:
    """Return what the page may tell of an answer."""
    course = practice.course
    found: dict[str, Any] = {
        "feedback": course.feedback,
        "standing": "",
        "hear_again": course.mode == "training" and not attempt.right,
        "state": state(practice),
    }
    found["standing"] = found["state"]["standing"]
    if course.feedback:
        found["right"] = attempt.right
        found["points"] = round(points(attempt.scores, attempt.answer), 1)
        found["fields"] = [to_data(score) for score in attempt.scores]
    return found
