"""The SQL of export and import: attempts as rows that are read from and added to the record."""

import sqlite3
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, NamedTuple

from drill.core.errors import UserError
from drill.records.database import RecordDatabase

SESSION_COLUMNS = "id, started, mode, plan, version, course"
ATTEMPT_COLUMNS = "number, at, snr_db, right, points, item, answer, scores, version"


_TEMPORARY_TABLES = (
    "DROP TABLE IF EXISTS temp.arrived",
    f"CREATE TEMPORARY TABLE arrived (sitting, {ATTEMPT_COLUMNS})",
)


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


class MergeCounts(NamedTuple):
    """How many attempts were read, and how many of them the record lacked."""

    read: int
    added: int


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


def merge_attempts(store: RecordDatabase, rows: Iterable[AttemptRow]) -> MergeCounts:
    """Add the attempts that the record lacks, all or none.

    Session and number identify an attempt; one that is already in the record stays as it is. The
    rows first go into a temporary table, so the record is locked only while SQLite copies them, and
    not while the rows are read and checked.

    Raises: UserError if a session would have a gap, and whatever iterating rows raises.
    """
    sessions: dict[str, tuple[Any, ...]] = {}
    with store.transaction(writes=False) as db:
        for statement in _TEMPORARY_TABLES:
            db.execute(statement)
        read = db.executemany(
            f"INSERT INTO temp.arrived VALUES ({', '.join('?' * 10)})",
            _attempt_cells(rows, sessions),
        ).rowcount
    with store.transaction(writes=True) as db:
        db.executemany(
            f"INSERT OR IGNORE INTO sitting ({SESSION_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
            sessions.values(),
        )
        added = db.execute(
            f"INSERT OR IGNORE INTO attempt (sitting, {ATTEMPT_COLUMNS}) "
            f"SELECT sitting, {ATTEMPT_COLUMNS} FROM temp.arrived ORDER BY rowid"
        ).rowcount
        db.execute("DROP TABLE temp.arrived")
        for identity in sessions:
            _check_complete(db, identity)
    return MergeCounts(read=read, added=added)


def _attempt_cells(
    rows: Iterable[AttemptRow], sessions: dict[str, tuple[Any, ...]]
) -> Iterator[tuple[Any, ...]]:
    """Yield session and ATTEMPT_COLUMNS of each row; put SESSION_COLUMNS into sessions."""
    for row in rows:
        sessions.setdefault(row.session, row[:6])
        yield (row.session, *row[6:])


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
