"""Contacts in the record: each act of the trainee and each word that the far end heard, in
order."""

import json
import sqlite3
from collections.abc import Iterator
from typing import Any, NamedTuple

from drill.core.errors import AlreadyAnswered
from drill.records.database import RecordDatabase

CONTACT_MODE = "contact"
"""Stored name of sessions that consist of contacts."""


class ContactEvent(NamedTuple):
    """One event of a contact. kind: "act", "heard" or "result"; data: as drill.contact wrote it."""

    kind: str
    data: dict[str, Any]


class StoredContact(NamedTuple):
    """A finished contact: its session, the session's start (ISO 8601), number and result."""

    session: str
    started: str
    number: int
    result: dict[str, Any]


class StoredContactSession(NamedTuple):
    """A session of contacts: id, start (ISO 8601), stored set-up, number of finished contacts."""

    id: str
    started: str
    setup: dict[str, Any]
    finished: int


class ContactTables(RecordDatabase):
    """The part of the record that holds contacts."""

    def add_contact_event(
        self, session: str, contact: int, number: int, event: ContactEvent
    ) -> None:
        """Record an event; when this returns, it is on disk.

        contact: its number in the session; number: of the event in the contact; both from 0.
        Raises: AlreadyAnswered if the record has this event, for example from another window.
        """
        row = (session, contact, number, event.kind, json.dumps(event.data))
        try:
            with self.transaction(writes=True) as db:
                db.execute("INSERT INTO contact_event VALUES (?, ?, ?, ?, ?)", row)
        except sqlite3.IntegrityError as error:
            if error.sqlite_errorname != "SQLITE_CONSTRAINT_PRIMARYKEY":
                raise
            raise AlreadyAnswered(
                "this contact continued in another window; start the session again to continue "
                "it here",
                field="number",
            ) from None

    def contact_events(self, session: str, contact: int) -> list[ContactEvent]:
        """Return the events of a contact in order."""
        rows = self._db.execute(
            "SELECT kind, data FROM contact_event WHERE sitting = ? AND contact = ? "
            "ORDER BY number",
            (session, contact),
        )
        return [ContactEvent(kind, json.loads(data)) for kind, data in rows]

    def contact_results(self, session: str | None = None) -> Iterator[StoredContact]:
        """Yield finished contacts, oldest session first; session: only those of one session."""
        where = "" if session is None else "AND contact_event.sitting = ?"
        rows = self._db.execute(
            "SELECT contact_event.sitting, started, contact, data FROM contact_event "
            f"JOIN sitting ON sitting.id = contact_event.sitting WHERE kind = 'result' {where} "
            "ORDER BY started, contact_event.sitting, contact",
            () if session is None else (session,),
        )
        for identity, started, number, data in rows:
            yield StoredContact(identity, started, number, json.loads(data))

    def contact_sessions(self, limit: int = -1) -> list[StoredContactSession]:
        """Return the sessions with at least one event, newest first; limit: -1 for all."""
        rows = self._db.execute(
            "SELECT id, started, course, sum(kind = 'result') FROM sitting "
            "JOIN contact_event ON contact_event.sitting = sitting.id WHERE mode = ? "
            "GROUP BY id ORDER BY started DESC, id LIMIT ?",
            (CONTACT_MODE, limit),
        )
        return [
            StoredContactSession(identity, started, json.loads(course), finished)
            for identity, started, course, finished in rows
        ]
