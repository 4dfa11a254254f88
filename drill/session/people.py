"""Compares the people who have a record on this computer."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from drill.core.errors import FaintcallError, UserError
from drill.core.paths import RECORD_NAME, checked_person, people_folder, record_of
from drill.psychometrics.intervals import Interval
from drill.records.store import Store
from drill.session.attempts import tally_attempts
from drill.session.blocks import measurement_blocks


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonSummary:
    """Summary of one person's record.

    name: "" for the record without a name. right_at_first_hearing: of the answered items. x50_db:
    of the last measurement, None without one. newest: start of the last session. problem: why the
    record cannot be read, "" if it can.
    """

    name: str
    answered: int = 0
    right_at_first_hearing: int = 0
    x50_db: Interval | None = None
    newest: datetime | None = None
    problem: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class SetScore:
    """One person's first result with an item set. sent: characters of the answered items."""

    name: str
    answered: int
    right: int
    characters_right: int
    characters_sent: int


def people_names() -> tuple[str, ...]:
    """Return the names of people with a record, in alphabetical order. Raises: UserError."""
    folder = people_folder()
    if not folder.is_dir():
        return ()
    names = (path.name for path in folder.iterdir() if (path / RECORD_NAME).is_file())
    return tuple(sorted(names, key=str.casefold))


def summarise_people() -> tuple[PersonSummary, ...]:
    """Return everybody's summary; the record without a name comes first, if there is one."""
    names = (*([""] if record_of("").is_file() else []), *people_names())
    return tuple(_summary(name) for name in names)


def _summary(name: str) -> PersonSummary:
    try:
        with Store(record_of(name)) as store:
            sessions = store.sessions()
            blocks = measurement_blocks(store)
            x50_db = blocks[-1].estimate().x50_db if blocks and blocks[-1].trials else None
    except FaintcallError as error:
        return PersonSummary(name=name, problem=str(error))
    return PersonSummary(
        name=name,
        answered=sum(session.answered for session in sessions),
        right_at_first_hearing=sum(session.right_at_first_hearing for session in sessions),
        x50_db=x50_db,
        newest=datetime.fromisoformat(sessions[0].started) if sessions else None,
    )


def score_set(plan: Mapping[str, Any]) -> tuple[SetScore, ...]:
    """Return everybody's result with a set, best first; people who have not tried it are left out.

    plan: of the set, as Plan.to_dict gives it. The first session with it counts.
    """
    scores = [score for name in ("", *people_names()) if (score := _set_score(name, plan))]
    return tuple(
        sorted(scores, key=lambda score: (-score.right, -score.characters_right, score.name))
    )


def _set_score(name: str, plan: Mapping[str, Any]) -> SetScore | None:
    if not record_of(name).is_file():
        return None
    try:
        with Store(record_of(name)) as store:
            tried = [session for session in store.sessions() if session.plan == plan]
            attempts = store.attempts(tried[-1].id) if tried else []
    except FaintcallError:
        return None
    if not attempts:
        return None
    tally = tally_attempts(attempts)
    return SetScore(
        name=name,
        answered=tally.answered,
        right=tally.right_at_first_hearing,
        characters_right=tally.characters_right,
        characters_sent=tally.characters_sent,
    )


def remove_person(name: str) -> None:
    """Delete a person's record permanently. Raises: UserError if there is none."""
    name = checked_person(name)
    if name not in people_names():
        raise UserError(f"there is no record of a person called {name!r}", field="person")
    shutil.rmtree(people_folder() / name)
