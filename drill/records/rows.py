"""The SQL of export and import: attempts as rows that are read from and added to the record."""

import sqlite3
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

from drill.core.errors import UserError
from drill.records.database import RecordDatabase

SESSION_COLUMNS = "id, started, mode, plan, version, course"
ATTEMPT_COLUMNS = "number, at, snr_db, right, points, item, answer, scores, version"


class AttemptRow(NamedTuple):
    """An attempt with its session, in the order of SESSION_COLUMNS and ATTEMPT_COLUMNS.

    plan, course, item, answer and scores are JSON texts. session_version: the version of faintcall
    that began the session. version: the version that stored the attempt.
    """

    session: str
    started: str
    mode: str
    plan: str
    session_version: str
    course: str
    number: int
    answered_at: str
    snr_db: float | None
    right: int
    points: float
    item: str
    answer: str
    scores: str
    version: str


def count_attempts(
    store: RecordDatabase, *, since: datetime | None = None, mode: str | None = None
) -> int:
    """Return how many rows attempt_rows yields for the same arguments."""
    with store.transaction(writes=False) as db:
        return sum(attempts for _, attempts in _chosen_sessions(db, since, mode))


def attempt_rows(
    store: RecordDatabase, *, since: datetime | None = None, mode: str | None = None
) -> Iterator[AttemptRow]:
    """Yield the attempts of sessions, oldest session first, from one snapshot of the record.

    since: only sessions begun at this time or later. mode: only sessions of this stored name.
    Sessions are exported whole, so that an unfinished one can be continued where the rows are
    imported.
    """
    with store.transaction(writes=False) as db:
        for identity, _ in _chosen_sessions(db, since, mode):
            session = db.execute(
                f"SELECT {SESSION_COLUMNS} FROM sitting WHERE id = ?", (identity,)
            ).fetchone()
            for attempt in db.execute(
                f"SELECT {ATTEMPT_COLUMNS} FROM attempt WHERE sitting = ? ORDER BY number",
                (identity,),
            ):
                yield AttemptRow(*session, *attempt)


def merge_attempts(store: RecordDatabase, rows: Iterable[AttemptRow]) -> int:
    """Add the attempts that the record lacks, either all or none; return how many were added.

    Session and number identify an attempt; one that is already in the record stays as it is.

    Raises: UserError if a session would have a gap; also any error raised by iterating rows.
    """
    added = 0
    sessions: set[str] = set()
    with store.transaction(writes=True) as db:
        for row in rows:
            if row.session not in sessions:
                sessions.add(row.session)
                db.execute(
                    f"INSERT OR IGNORE INTO sitting ({SESSION_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
                    row[:6],
                )
            added += db.execute(
                f"INSERT OR IGNORE INTO attempt (sitting, {ATTEMPT_COLUMNS}) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (row.session, *row[6:]),
            ).rowcount
        for identity in sessions:
            _check_complete(db, identity)
    return added


def _chosen_sessions(
    db: sqlite3.Connection, since: datetime | None, mode: str | None
) -> list[tuple[str, int]]:
    """Return the ids of sessions with their numbers of attempts, oldest session first."""
    rows: list[tuple[str, int]] = db.execute(
        "SELECT id, count(*) FROM sitting JOIN attempt ON sitting.id = attempt.sitting "
        "WHERE (?1 IS NULL OR julianday(started) >= julianday(?1)) AND (?2 IS NULL OR mode = ?2) "
        "GROUP BY id ORDER BY julianday(started), id",
        (None if since is None else since.isoformat(), mode),
    ).fetchall()
    return rows


def _check_complete(db: sqlite3.Connection, identity: str) -> None:
    """Raise UserError if a session lacks attempts before its last one.

    A session with a gap could not be continued, because it continues after its last attempt.
    """
    attempts, first, last = db.execute(
        "SELECT count(*), min(number), max(number) FROM attempt WHERE sitting = ?", (identity,)
    ).fetchone()
    if (first, last) != (0, attempts - 1):
        raise UserError(
            f"session {identity} lacks {last + 1 - attempts} attempts before number {last} in the "
            "file; nothing was imported",
            field="number",
            kind="missing",
        )
