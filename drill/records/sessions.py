"""Sessions and their attempts in the record."""

import json
import sqlite3
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Answer, Attempt, FieldScore, Item
from drill.core.structuring import from_data, to_data
from drill.core.validation import checked_list, json_value
from drill.items.plan import Plan
from drill.records.database import RecordDatabase
from drill.records.failures import damaged_data
from drill.scoring.answers import answer_points

SUMMARY_COLUMNS = (
    "id, started, mode, plan, course, count(attempt.sitting), coalesce(sum(right), 0), "
    "coalesce(sum(right AND points > 99.9), 0)"
)
"""Replays lower the points, so a right answer has all 100 only if the item was played once."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SessionRecord:
    """A session as stored in the record, with sums over its answers.

    id: 32 hexadecimal digits. started: ISO 8601 with offset. mode: stored name of the kind of
    session ("practice", "training", "measuring", "quick", "comparing"). plan: Plan.to_dict as it
    was written; its operators or exchange may no longer exist. course: SessionKind.to_dict as it
    was written, the part of the set-up that is not the plan. answered, right,
    right_at_first_hearing: numbers of answers; the last counts those without a replay.
    """

    id: str
    started: str
    mode: str
    plan: dict[str, Any]
    course: dict[str, Any]
    answered: int
    right: int
    right_at_first_hearing: int


class RawAttempt(NamedTuple):
    """An attempt as plain data with its stored key names; faster to read than Attempt.

    session: id of the session. number: of the item, from 0. snr_db: in 3 kHz, None without noise.
    """

    mode: str
    session: str
    number: int
    answered_at: str
    snr_db: float | None
    right: bool
    item: dict[str, Any]
    answer: dict[str, Any]
    scores: list[dict[str, Any]]


class AttemptOutcome(NamedTuple):
    """SNR in dB in 3 kHz (None without noise), whether the answer was right, number of replays."""

    snr_db: float | None
    right: bool
    replays: int


class SessionTables(RecordDatabase):
    """The part of the record that holds sessions and attempts."""

    def begin_session(
        self,
        plan: Plan,
        *,
        now: datetime,
        version: str,
        mode: str = "practice",
        course: Mapping[str, Any] | None = None,
    ) -> str:
        """Record the start of a session; return its id. Arguments: as in SessionRecord."""
        identity = uuid.uuid4().hex
        row = (
            identity,
            now.isoformat(),
            mode,
            json.dumps(plan.to_dict()),
            version,
            json.dumps(course or {}),
        )
        with self.transaction(writes=True) as db:
            db.execute(
                "INSERT INTO sitting (id, started, mode, plan, version, course) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                row,
            )
        return identity

    def add_attempt(self, session: str, number: int, attempt: Attempt) -> None:
        """Record an answered item; when this returns, it is on disk.

        session: its id. number: of the item, from 0.
        Raises: AlreadyAnswered if the item has an answer in the record.
        """
        row = (
            session,
            number,
            attempt.answered_at,
            attempt.item.conditions.snr_db,
            int(attempt.right),
            answer_points(attempt.scores, attempt.answer),
            json.dumps(to_data(attempt.item)),
            json.dumps(to_data(attempt.answer)),
            json.dumps(to_data(attempt.scores)),
            attempt.version,
        )
        try:
            with self.transaction(writes=True) as db:
                db.execute(f"INSERT INTO attempt VALUES ({', '.join('?' * len(row))})", row)
        except sqlite3.IntegrityError as error:
            if error.sqlite_errorname != "SQLITE_CONSTRAINT_PRIMARYKEY":
                raise
            raise AlreadyAnswered(
                f"item {number + 1} already has an answer", field="number"
            ) from None

    def delete_session(self, identity: str) -> bool:
        """Delete a session with everything that belongs to it; return False if there is none."""
        with self.transaction(writes=True) as db:
            for table in ("machine_copy", "contact_event", "hunt_event", "attempt"):
                db.execute(f"DELETE FROM {table} WHERE sitting = ?", (identity,))
            return db.execute("DELETE FROM sitting WHERE id = ?", (identity,)).rowcount > 0

    def sessions(self, limit: int = -1, *, modes: Sequence[str] = ()) -> list[SessionRecord]:
        """Return the sessions with at least one answer, newest first.

        limit: largest number of sessions, -1 for all. modes: stored names of the kinds to return,
        empty for all.
        """
        rows = self._db.execute(
            f"SELECT {SUMMARY_COLUMNS} FROM sitting JOIN attempt ON sitting.id = attempt.sitting "
            f"{_where_mode(modes)} GROUP BY id ORDER BY started DESC, id LIMIT ?",
            (*modes, limit),
        )
        return [_session_record(row) for row in rows]

    def newest_session(self, modes: Sequence[str]) -> SessionRecord | None:
        """Return the newest session of these stored names, even one without answers, or None."""
        row = self._db.execute(
            f"SELECT {SUMMARY_COLUMNS} FROM sitting "
            f"LEFT JOIN attempt ON sitting.id = attempt.sitting {_where_mode(modes)} "
            "GROUP BY id ORDER BY started DESC, sitting.rowid DESC LIMIT 1",
            tuple(modes),
        ).fetchone()
        return None if row is None else _session_record(row)

    def session(self, identity: str) -> SessionRecord | None:
        """Return one session, with or without answers; None if the record has no such session."""
        row = self._db.execute(
            f"SELECT {SUMMARY_COLUMNS} FROM sitting "
            "LEFT JOIN attempt ON sitting.id = attempt.sitting WHERE id = ? GROUP BY id",
            (identity,),
        ).fetchone()
        return None if row is None else _session_record(row)

    def attempts(self, session: str, *, first: int = 0) -> list[Attempt]:
        """Return the attempts of a session in the order of their items.

        first: number of the first item to include.
        Raises: UserError if a stored attempt is damaged.
        """
        rows = self._db.execute(
            "SELECT at, item, answer, scores, version FROM attempt WHERE sitting = ? "
            "AND number >= ? ORDER BY number",
            (session, first),
        )
        return [self._attempt(session, row) for row in rows]

    def answer_time(self, session: str, number: int) -> str | None:
        """Return the time of an item's answer (ISO 8601), None if it has no answer."""
        row = self._db.execute(
            "SELECT at FROM attempt WHERE sitting = ? AND number = ?", (session, number)
        ).fetchone()
        return None if row is None else str(row[0])

    def _attempt(self, session: str, cells: tuple[str, str, str, str, str]) -> Attempt:
        answered_at, item, answer, scores, version = cells
        try:
            return Attempt(
                answered_at=answered_at,
                item=from_data(Item, json_value(item), "item"),
                answer=from_data(Answer, json_value(answer), "answer"),
                scores=scores_from_data(json_value(scores)),
                version=version,
            )
        except UserError as error:
            raise damaged_data(self.path, f"session {session}", error) from None

    def attempt_outcomes(self, session: str) -> list[AttemptOutcome]:
        """Return the outcomes of a session's attempts in the order of their items."""
        rows = self._db.execute(
            "SELECT snr_db, right, json_extract(answer, '$.replays') FROM attempt "
            "WHERE sitting = ? ORDER BY number",
            (session,),
        )
        return [AttemptOutcome(snr_db, bool(right), replays) for snr_db, right, replays in rows]

    def attempt_times(self) -> list[tuple[str, str]]:
        """Return session id and time (ISO 8601) of every attempt, oldest first."""
        return self._db.execute("SELECT sitting, at FROM attempt ORDER BY rowid").fetchall()

    def raw_attempts(self, modes: Sequence[str] = (), *, newest: int = -1) -> Iterator[RawAttempt]:
        """Yield attempts as plain data, oldest first.

        modes: stored names of the kinds of session, empty for all. newest: number of newest
        attempts to return, -1 for all.
        """
        rows = self._db.execute(
            "SELECT * FROM (SELECT mode, sitting, number, at, snr_db, right, item, answer, scores, "
            "attempt.rowid AS place FROM attempt JOIN sitting ON sitting.id = attempt.sitting "
            f"{_where_mode(modes)} ORDER BY place DESC LIMIT ?) ORDER BY place",
            (*modes, newest),
        )
        for mode, session, number, answered_at, snr_db, right, item, answer, scores, _ in rows:
            yield RawAttempt(
                mode=mode,
                session=session,
                number=number,
                answered_at=answered_at,
                snr_db=snr_db,
                right=bool(right),
                item=json.loads(item),
                answer=json.loads(answer),
                scores=json.loads(scores),
            )


def _where_mode(modes: Sequence[str]) -> str:
    return f"WHERE mode IN ({', '.join('?' * len(modes))})" if modes else ""


def _session_record(row: Sequence[Any]) -> SessionRecord:
    """Return the session of a row of SUMMARY_COLUMNS."""
    identity, started, mode, plan, course, answered, right, right_at_first_hearing = row
    return SessionRecord(
        id=identity,
        started=started,
        mode=mode,
        plan=json.loads(plan),
        course=json.loads(course),
        answered=answered,
        right=right,
        right_at_first_hearing=right_at_first_hearing,
    )


def scores_from_data(data: Any, where: str = "scores") -> tuple[FieldScore, ...]:
    """Return the scores of plain data. where: dotted name of data. Raises: UserError."""
    return checked_list(where, data, lambda field, entry: from_data(FieldScore, entry, field))
