"""Attempts as rows that leave the record and come into it: the SQL beneath export and import."""

import sqlite3
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

from drill.core.errors import UserError
from drill.records.store import Store

SITTING = "id, started, mode, plan, version, course"
ATTEMPT = "number, at, snr_db, right, points, item, answer, scores, version"


class Row(NamedTuple):
    """One attempt with its sitting, in the order of SITTING and ATTEMPT.

    plan, course, item, answer and scores are JSON. began is the version of faintcall that began the
    sitting, version the one that kept the attempt.
    """

    sitting: str
    started: str
    mode: str
    plan: str
    began: str
    course: str
    number: int
    at: str
    snr_db: float | None
    right: int
    points: float
    item: str
    answer: str
    scores: str
    version: str


def _chosen(
    db: sqlite3.Connection, since: datetime | None, mode: str | None
) -> list[tuple[str, int]]:
    """Return sittings, oldest first, and how many answers each has."""
    rows: list[tuple[str, int]] = db.execute(
        "SELECT id, count(*) FROM sitting JOIN attempt ON sitting.id = attempt.sitting "
        "WHERE (?1 IS NULL OR julianday(started) >= julianday(?1)) AND (?2 IS NULL OR mode = ?2) "
        "GROUP BY id ORDER BY julianday(started), id",
        (None if since is None else since.isoformat(), mode),
    ).fetchall()
    return rows


def count(store: Store, *, since: datetime | None = None, mode: str | None = None) -> int:
    """Return how many rows `rows` gives."""
    with store.transaction(writes=False) as db:
        return sum(answers for _, answers in _chosen(db, since, mode))


def rows(store: Store, *, since: datetime | None = None, mode: str | None = None) -> Iterator[Row]:
    """Give the attempts of all sittings begun since then and of that mode, one at a time.

    They are whole sittings, so that one that was broken off can go on where it is carried to, and
    all of one moment, whatever is recorded meanwhile.
    """
    with store.transaction(writes=False) as db:
        for identity, _ in _chosen(db, since, mode):
            found = db.execute(f"SELECT {SITTING} FROM sitting WHERE id = ?", (identity,))
            sitting = found.fetchone()
            for attempt in db.execute(
                f"SELECT {ATTEMPT} FROM attempt WHERE sitting = ? ORDER BY number", (identity,)
            ):
                yield Row(*sitting, *attempt)


def merge(store: Store, incoming: Iterable[Row]) -> int:
    """Add the attempts that are not here yet, all or none; return how many were added.

    An attempt is known by its sitting and number; one that is here already stays as it is.

    Raises: UserError where a sitting would have a gap, and whatever incoming raises.
    """
    added, met = 0, set()
    with store.transaction(writes=True) as db:
        for row in incoming:
            if row.sitting not in met:
                met.add(row.sitting)
                db.execute(
                    f"INSERT OR IGNORE INTO sitting ({SITTING}) VALUES (?, ?, ?, ?, ?, ?)", row[:6]
                )
            added += db.execute(
                f"INSERT OR IGNORE INTO attempt (sitting, {ATTEMPT}) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (row.sitting, *row[6:]),
            ).rowcount
        for identity in met:
            _check_whole(db, identity)
    return added


def _check_whole(db: sqlite3.Connection, identity: str) -> None:
    """Raise UserError where numbers are missing: a sitting goes on after its last one."""
    answers, least, most = db.execute(
        "SELECT count(*), min(number), max(number) FROM attempt WHERE sitting = ?", (identity,)
    ).fetchone()
    if (least, most) != (0, answers - 1):
        raise UserError(
            f"of sitting {identity} {most + 1 - answers} attempts before number {most} are missing "
            "from the file; nothing was imported"
        )
