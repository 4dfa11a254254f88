"""The recognisers' answers to the trainee's items, which can be computed again at any time."""

from drill.items.machine_copy import MachineCopy
from drill.records.database import RecordDatabase


class MachineTables(RecordDatabase):
    """The part of the record that holds the answers of recognisers, at most one per item."""

    def add_machine_copy(self, session: str, number: int, copy: MachineCopy) -> None:
        """Record a recogniser's answer to an item, replacing an earlier one.

        session: its id. number: of the item, from 0.
        """
        row = (session, number, copy.recogniser, copy.typed, int(copy.right))
        with self.transaction(writes=True) as db:
            db.execute("INSERT OR REPLACE INTO machine_copy VALUES (?, ?, ?, ?, ?)", row)

    def machine_copies(self, session: str, recogniser: str) -> dict[int, MachineCopy]:
        """Return the answers of one recogniser by item number."""
        rows = self._db.execute(
            "SELECT number, typed, right FROM machine_copy WHERE sitting = ? AND recogniser = ?",
            (session, recogniser),
        )
        return {
            number: MachineCopy(recogniser=recogniser, typed=typed, right=bool(right))
            for number, typed, right in rows
        }

    def newest_machine(self) -> str:
        """Return name and version of the recogniser that answered last, "" for none."""
        row = self._db.execute(
            "SELECT recogniser FROM machine_copy ORDER BY rowid DESC LIMIT 1"
        ).fetchone()
        return "" if row is None else str(row[0])

    def machine_copies_made(self) -> int:
        """Return a number that increases with every answer."""
        (number,) = self._db.execute("SELECT coalesce(max(rowid), 0) FROM machine_copy").fetchone()
        return int(number)

    def answered_items(self, session: str) -> dict[int, str]:
        """Return the answered items of a session as JSON, by number."""
        rows = self._db.execute("SELECT number, item FROM attempt WHERE sitting = ?", (session,))
        return dict(rows.fetchall())
