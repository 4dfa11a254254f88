"""Hunts in the record: each act of the trainee, what was heard of it by a recogniser, and the
result."""

import json
import sqlite3
from collections.abc import Iterator
from typing import Any, NamedTuple

from drill.core.errors import AlreadyAnswered
from drill.records.database import RecordDatabase

HUNT_MODE = "hunt"
"""Stored name of sessions that are hunts."""
HUNT_RESULT = "result"
"""Kind of the event that holds the result of a hunt that has ended."""


class StoredHuntEvent(NamedTuple):
    """One event of a hunt. kind: as drill.hunt.sessions names it; data: as it was written."""

    kind: str
    data: dict[str, Any]


class StoredHunt(NamedTuple):
    """A hunt in the record.

    id: 32 hexadecimal digits. started: ISO 8601 with offset. plan, setup: as they were stored.
    result: None while the hunt has not ended.
    """

    id: str
    started: str
    plan: dict[str, Any]
    setup: dict[str, Any]
    result: dict[str, Any] | None


class HuntTables(RecordDatabase):
    """The part of the record that holds hunts."""

    def add_hunt_event(self, session: str, number: int, event: StoredHuntEvent) -> None:
        """Record an event; when this returns, it is on disk.

        number: of the event in the hunt, from 0.
        Raises: AlreadyAnswered if the record has this event, for example from another window.
        """
        row = (session, number, event.kind, json.dumps(event.data))
        try:
            with self.transaction(writes=True) as db:
                db.execute("INSERT INTO hunt_event VALUES (?, ?, ?, ?)", row)
        except sqlite3.IntegrityError as error:
            if error.sqlite_errorname != "SQLITE_CONSTRAINT_PRIMARYKEY":
                raise
            raise AlreadyAnswered(
                "this hunt continued in another window; open it again to continue it here",
                field="number",
            ) from None

    def hunt_events(self, session: str, *, first: int = 0) -> list[StoredHuntEvent]:
        """Return the events of a hunt in order, from the event with the number `first`."""
        rows = self._db.execute(
            "SELECT kind, data FROM hunt_event WHERE sitting = ? AND number >= ? ORDER BY number",
            (session, first),
        )
        return [StoredHuntEvent(kind, json.loads(data)) for kind, data in rows]

    def count_hunt_events(self, session: str) -> int:
        """Return the number of events of a hunt."""
        row = self._db.execute(
            "SELECT count(*) FROM hunt_event WHERE sitting = ?", (session,)
        ).fetchone()
        return int(row[0])

    def hunts(self, limit: int = -1, *, identity: str | None = None) -> Iterator[StoredHunt]:
        """Yield the hunts of the record, the newest first.

        limit: largest number, -1 for all. identity: id of the only hunt to return.
        """
        rows = self._db.execute(
            "SELECT id, started, plan, course, (SELECT data FROM hunt_event WHERE kind = ?1 "
            "AND hunt_event.sitting = id) FROM sitting WHERE mode = ?2 AND (?3 IS NULL OR id = ?3) "
            "ORDER BY started DESC, rowid DESC LIMIT ?4",
            (HUNT_RESULT, HUNT_MODE, identity, limit),
        )
        for session, started, plan, setup, result in rows:
            yield StoredHunt(
                id=session,
                started=started,
                plan=json.loads(plan),
                setup=json.loads(setup),
                result=None if result is None else json.loads(result),
            )
