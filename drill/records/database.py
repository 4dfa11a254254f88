"""The record's SQLite file: opening, migrations and transactions."""

import os
import sqlite3
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from drill.core.errors import FaintcallError, UserError
from drill.records.failures import RecordUnavailable, file_error, record_error
from drill.records.repair import repaired_json

# Entry n migrates the record from version n to n + 1. Entries are only ever added.
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
    # The part of a session's set-up that is not the plan: levels, priors, alternatives.
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
    # Version 0.2.0 stored bytes that are not UTF-8 as unpaired surrogates, which files cannot
    # contain.
    r"""
    UPDATE attempt SET answer = repaired_json(answer) WHERE answer LIKE '%\ud%';
    UPDATE attempt SET scores = repaired_json(scores) WHERE scores LIKE '%\ud%';
    UPDATE sitting SET plan = repaired_json(plan) WHERE plan LIKE '%\ud%';
    UPDATE sitting SET course = repaired_json(course) WHERE course LIKE '%\ud%';
    UPDATE setting SET value = repaired_json(value) WHERE value LIKE '%\ud%';
    UPDATE take SET prompt = repaired_json(prompt) WHERE prompt LIKE '%\ud%';
    """,
    # The events of contacts, in order, as JSON.
    """
    CREATE TABLE IF NOT EXISTS contact_event (
        sitting TEXT NOT NULL REFERENCES sitting (id),
        contact INTEGER NOT NULL,
        number INTEGER NOT NULL,
        kind TEXT NOT NULL,
        data TEXT NOT NULL,
        PRIMARY KEY (sitting, contact, number)
    ) STRICT;
    """,
    # A recogniser's answers to the items, in addition to the trainee's.
    """
    CREATE TABLE IF NOT EXISTS machine_copy (
        sitting TEXT NOT NULL,
        number INTEGER NOT NULL,
        recogniser TEXT NOT NULL,
        typed TEXT NOT NULL,
        right INTEGER NOT NULL,
        PRIMARY KEY (sitting, number),
        FOREIGN KEY (sitting, number) REFERENCES attempt (sitting, number)
    ) STRICT;
    """,
    # The events of hunts, in order, as JSON.
    """
    CREATE TABLE IF NOT EXISTS hunt_event (
        sitting TEXT NOT NULL REFERENCES sitting (id),
        number INTEGER NOT NULL,
        kind TEXT NOT NULL,
        data TEXT NOT NULL,
        PRIMARY KEY (sitting, number)
    ) STRICT;
    """,
)
BUSY_TIMEOUT_S = 10.0
"""How long one process waits while another is writing."""
RETRY_S = 0.02


class _RecordCursor(sqlite3.Cursor):
    """A cursor that raises errors for the user; a violated constraint stays SQLite's error."""

    connection: "_RecordConnection"

    def execute(self, *arguments: Any) -> Self:
        """Execute a statement. Raises: RecordUnavailable, UserError, sqlite3.IntegrityError."""
        with self.connection.errors_for_user():
            return super().execute(*arguments)

    def executemany(self, *arguments: Any) -> Self:
        """Execute a statement for many rows. Raises: as execute."""
        with self.connection.errors_for_user():
            return super().executemany(*arguments)

    def fetchone(self) -> Any:
        """Return the next row or None. Raises: as execute."""
        with self.connection.errors_for_user():
            return super().fetchone()

    def fetchall(self) -> list[Any]:
        """Return the remaining rows. Raises: as execute."""
        with self.connection.errors_for_user():
            return super().fetchall()

    def __next__(self) -> Any:
        """Return the next row. Raises: as execute."""
        with self.connection.errors_for_user():
            return super().__next__()


class _RecordConnection(sqlite3.Connection):
    """A connection whose cursors are _RecordCursor."""

    path = Path()

    def execute(self, *arguments: Any) -> _RecordCursor:
        """Execute a statement in a new cursor. Raises: as _RecordCursor.execute."""
        return self.cursor(_RecordCursor).execute(*arguments)

    def executemany(self, *arguments: Any) -> _RecordCursor:
        """Execute a statement for many rows. Raises: as _RecordCursor.execute."""
        return self.cursor(_RecordCursor).executemany(*arguments)

    @contextmanager
    def errors_for_user(self) -> Iterator[None]:
        """Replace SQLite's errors with those of drill.records.failures."""
        try:
            yield
        except (sqlite3.IntegrityError, sqlite3.ProgrammingError):
            raise
        except sqlite3.Error as error:
            raise record_error(self.path, error) from None


class RecordDatabase:
    """The open record file. Use it as a context manager, or call close.

    Write-ahead logging lets several processes use the file at once; committed data survives a
    killed process and a power failure.
    """

    def __init__(self, path: Path) -> None:
        """Open the file, create it and its folder if missing, and migrate it to this version.

        Raises: UserError if the file is not a record, is damaged, or belongs to a newer version;
        RecordUnavailable if it cannot be read or written at the moment. Every other method raises
        RecordUnavailable too, for example if the disk is full.
        """
        self.path = path
        try:
            _make_private(path)
        except OSError as error:
            raise file_error(path, error) from None
        try:
            self._db = sqlite3.connect(
                path, timeout=BUSY_TIMEOUT_S, isolation_level=None, factory=_RecordConnection
            )
        except sqlite3.Error as error:
            raise record_error(path, error) from None
        self._db.path = path
        self._db.create_function("repaired_json", 1, repaired_json, deterministic=True)
        try:
            self._prepare(path)
        except FaintcallError:
            self._db.close()
            raise

    def __enter__(self) -> Self:
        """Return the open record."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    @contextmanager
    def transaction(self, *, writes: bool) -> Iterator[sqlite3.Connection]:
        """Run a block in one transaction: either all of its changes are stored, or none.

        writes: take the write lock at once. A read-only transaction gets a consistent snapshot.
        """
        self._db.execute("BEGIN IMMEDIATE" if writes else "BEGIN")
        try:
            yield self._db
            self._db.execute("COMMIT")
        except BaseException:
            # After some errors, such as a full disk, SQLite has already rolled back.
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise

    def _prepare(self, path: Path) -> None:
        self._enable_write_ahead_log()
        self._db.execute("PRAGMA synchronous = FULL")  # an answer also survives a power failure
        self._db.execute("PRAGMA foreign_keys = ON")
        if self._version() == len(MIGRATIONS):
            return  # reading does not wait for another process that is writing
        with self.transaction(writes=True):
            version = self._version()  # check again: another process may have migrated the file
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
            except RecordUnavailable as error:
                if error.kind != "locked" or time.monotonic() > deadline:
                    raise
                time.sleep(RETRY_S)


def _make_private(path: Path) -> None:
    """Create the record's folder and file if missing; let only their owner read them.

    Raises: OSError if the file does not exist and cannot be created.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    for place, mode in ((path, 0o600), (path.parent, 0o700)):
        with suppress(OSError):  # owned by another user, or on a read-only disk
            if stat.S_IMODE(place.stat().st_mode) & 0o077:
                place.chmod(mode)
