"""User data in the record besides attempts: settings, takes, and the cautions already shown."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from drill.records.database import RecordDatabase


class UserTables(RecordDatabase):
    """The part of the record that holds settings, takes of the user's own speech, and cautions."""

    def setting(self, name: str) -> str | None:
        """Return the stored text of a setting, None if it was never set."""
        row = self._db.execute("SELECT value FROM setting WHERE name = ?", (name,)).fetchone()
        return None if row is None else str(row[0])

    def set_setting(self, name: str, value: str) -> None:
        """Store the text of a setting."""
        with self.transaction(writes=True) as db:
            db.execute("INSERT OR REPLACE INTO setting VALUES (?, ?)", (name, value))

    def add_take(
        self,
        prompt: Mapping[str, Any],
        review: Mapping[str, Any],
        *,
        now: datetime,
        version: str,
    ) -> None:
        """Store the review of a take of the user's own speech, with its prompt; no audio."""
        with self.transaction(writes=True) as db:
            db.execute(
                "INSERT INTO take (at, prompt, review, version) VALUES (?, ?, ?, ?)",
                (now.isoformat(), json.dumps(prompt), json.dumps(review), version),
            )

    def takes(self, newest: int = -1) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Return time (ISO 8601), prompt and review of the newest takes as plain data.

        newest: how many to return, -1 for all. The newest comes first.
        """
        rows = self._db.execute(
            "SELECT at, prompt, review FROM take ORDER BY id DESC LIMIT ?", (newest,)
        )
        return [(time, json.loads(prompt), json.loads(review)) for time, prompt, review in rows]

    def has_seen(self, caution: str) -> bool:
        """Return True if the user has been shown this caution."""
        row = self._db.execute("SELECT 1 FROM seen WHERE caution = ?", (caution,)).fetchone()
        return row is not None

    def set_seen(self, caution: str, *, now: datetime) -> None:
        """Record that the user has been shown this caution."""
        with self.transaction(writes=True) as db:
            db.execute("INSERT OR IGNORE INTO seen VALUES (?, ?)", (caution, now.isoformat()))
