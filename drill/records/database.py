"""The record's SQLite file: opening, migrations and transactions."""

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Self

from drill.core.errors import UserError

# Each entry takes the record from version n to n + 1; entries are only ever added.
MIGRATIONS = (
    """
    CREATE TABLE sitting (
        id TEXT PRIMARY KEY,
        started TEXT NOT NULL,
        mode TEXT NOT NULL,
        plan TEXT NOT NULL,
        version TEXT NOT NULL
    ) STRICT;
    CREATE TABLE attempt (
        sitting TEXT NOT NULL REFERENCES sitting (id),
        number INTEGER NOT NULL,
        at TEXT NOT NULL,
        snr_db REAL,
        right INTEGER NOT NULL,
        points REAL NOT NULL,
        item TEXT NOT NULL,
        answer TEXT NOT NULL,
        scores TEXT NOT NULL,
        version TEXT NOT NULL,
        PRIMARY KEY (sitting, number)
    ) STRICT;
    CREATE TABLE seen (caution TEXT PRIMARY KEY, at TEXT NOT NULL) STRICT;
    """,
    # What determines the next item besides the plan: levels, priors, alternatives.
    "ALTER TABLE sitting ADD COLUMN course TEXT NOT NULL DEFAULT '{}'",
    "CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    # The trainee's own takes: prompt and review as JSON, no audio.
    """
    CREATE TABLE take (
        id INTEGER PRIMARY KEY,
        at TEXT NOT NULL,
        prompt TEXT NOT NULL,
        review TEXT NOT NULL,
        version TEXT NOT NULL
    ) STRICT;
    """,
)
BUSY_TIMEOUT_S = 10.0
"""How long one process waits while another is writing."""
RETRY_S = 0.02


class RecordDatabase:
    """The open record file. Use it as a context manager, or call close.

    Write-ahead logging lets several processes use the file at once; whatever was committed survives
    a killed process and a power failure.
    """

    def __init__(self, path: Path) -> None:
        """Open the file, create it and its folder if missing, and migrate it to this version.

        Raises: UserError if the file is not a record, cannot be written, or belongs to a newer
        version.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
        except (OSError, sqlite3.Error) as error:
            raise UserError(f"the record {path} cannot be opened: {error}") from None
        try:
            self._prepare(path)
        except sqlite3.Error as error:
            self._db.close()
            raise UserError(
                f"the record {path} cannot be used ({error}); move it away to start a new one"
            ) from None
        except UserError:
            self._db.close()
            raise

    def __enter__(self) -> Self:
        """Return the open record."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    @contextmanager
    def transaction(self, *, writes: bool) -> Iterator[sqlite3.Connection]:
        """Run a block in one transaction: all of its changes are kept, or none.

        writes: take the write lock at once. A read-only transaction gets a consistent snapshot.
        """
        self._db.execute("BEGIN IMMEDIATE" if writes else "BEGIN")
        try:
            yield self._db
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    def _prepare(self, path: Path) -> None:
        self._enable_write_ahead_log()
        self._db.execute("PRAGMA synchronous = FULL")  # an answer survives a power failure too
        self._db.execute("PRAGMA foreign_keys = ON")
        if self._version() == len(MIGRATIONS):
            return  # no need to wait for another process that is writing
        with self.transaction(writes=True):
            version = self._version()  # again: another process may have migrated the file meanwhile
            if version > len(MIGRATIONS):
                raise UserError(f"the record {path} belongs to a newer faintcall; update faintcall")
            for number, script in enumerate(MIGRATIONS[version:], version + 1):
                for statement in script.split(";"):
                    if statement.strip():
                        self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {number}")

    def _version(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def _enable_write_ahead_log(self) -> None:
        """Switch to write-ahead logging; retry while another process creates the same file.

        SQLite's own timeout does not cover this statement: it fails at once if the file is locked.
        """
        deadline = time.monotonic() + BUSY_TIMEOUT_S
        while True:
            try:
                self._db.execute("PRAGMA journal_mode = WAL")
                return
            except sqlite3.OperationalError:
                if time.monotonic() > deadline:
                    raise
                time.sleep(RETRY_S)
