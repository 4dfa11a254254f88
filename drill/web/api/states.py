"""The JSON of a session's state and of the reply to an answer."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from drill.core.models import Attempt
from drill.core.validation import shown
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.session import Session
from drill.web.database import NotFoundError
from drill.web.session_memory import SessionMemory
from phonetics.callsign_mixes import FICTION_NOTICE

StateJson = dict[str, Any]


def load_session(
    store: Store,
    identity: str,
    memory_of: Callable[[str], SessionMemory] = lambda _: SessionMemory(),
) -> Session:
    """Return a session of the record.

    memory_of: returns the memory of a session, given its identity.
    Raises: NotFoundError if the record has no such session; UserError if this version does not know
    its kind.
    """
    record = store.session(identity)
    if record is None:
        raise NotFoundError(f"there is no session {shown(identity)}")
    memory = memory_of(identity)
    return Session(
        memory.kind(record),
        store,
        identity=identity,
        attempts=memory.attempts(store, identity),
        items=memory.items,
        prefetched=memory.prefetched,
        # The worker process does all synthesis, because this process has to answer requests.
        patient=True,
    )


def kind_json(kind: type[SessionKind]) -> dict[str, str]:
    """Return name and title of a kind of session, and the page on which it runs."""
    return {"kind": kind.name, "title": kind.title, "page": f"/{kind.activity}"}


def session_state(session: Session) -> StateJson:
    """Return the state of a session."""
    kind = session.kind
    return {
        "id": session.identity,
        **kind_json(type(kind)),
        "sentence": kind.announcement(),
        "count": kind.count,
        "number": session.number,
        "finished": session.finished,
        "replays": kind.allows_replays,
        "feedback": kind.gives_feedback,
        "standing": session.standing,
        "fiction": f"Calls are {FICTION_NOTICE}.",
        "items": kind.plan.part,
    }


def answer_reply(session: Session, attempt: Attempt) -> dict[str, Any]:
    """Return the reply to an answer; the score only if the kind of session gives feedback."""
    kind = session.kind
    state = session_state(session)
    reply: dict[str, Any] = {
        "feedback": kind.gives_feedback,
        "standing": state["standing"],
        "hear_again": kind.repeats_misses and not attempt.right,
        "state": state,
    }
    if kind.gives_feedback:
        reply["right"] = attempt.right
        reply["fields"] = [asdict(score) for score in attempt.scores]
    return reply
