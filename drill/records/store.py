"""The record: one SQLite file, one transaction an answer.

Write-ahead logging lets two processes use it at once; a process that is killed leaves every answer
that was committed. Sound is not kept: an item's data gives it again.
"""

import json
import sqlite3
import time
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Answer, Attempt, FieldScore, Item, Pair
from drill.core.structuring import from_data, to_data
from drill.items.plan import Plan
from drill.scoring.answers import points

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
    # What decides on the next item beside the plan: levels, priors, arms.
    "ALTER TABLE sitting ADD COLUMN course TEXT NOT NULL DEFAULT '{}'",
    "CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    # What the user sent himself: prompt and review as JSON, no sound.
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
SUMS = (
    "id, started, mode, plan, course, count(attempt.sitting), coalesce(sum(right), 0), "
    "coalesce(avg(points), 0.0)"
)
WAIT_S = 10.0
"""How long one process waits for another that is writing."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sitting:
    """One row of the history: a sitting and the sums over its answers.

    mode: practice, training, measuring, quick or comparing. plan is the data of the Plan as it was
    written: a voice or an exchange of then may be gone now. course: the data of what decides on the
    next item beside the plan.
    """

    id: str
    started: str
    mode: str
    plan: dict[str, Any]
    course: dict[str, Any]
    answered: int
    right: int
    points: float


class Raw(NamedTuple):
    """One answer as plain data: item, answer and scores are what their asdict gave."""

    mode: str
    sitting: str
    number: int
    at: str
    snr_db: float | None
    right: bool
    item: dict[str, Any]
    answer: dict[str, Any]
    scores: list[dict[str, Any]]


class Store:
    """The open record. Use as a context manager or call close."""

    def __init__(self, path: Path) -> None:
        """Open the file, making it and its folder where missing, and bring its form up to date.

        Raises: UserError where the file is no record, cannot be written, or is of a newer version.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
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

    def _prepare(self, path: Path) -> None:
        self._write_ahead()
        self._db.execute("PRAGMA synchronous = FULL")  # an answer survives a loss of power too
        self._db.execute("PRAGMA foreign_keys = ON")
        if self._version() == len(MIGRATIONS):
            return  # no need to wait for another process that is writing
        with self._write():
            version = self._version()
            if version > len(MIGRATIONS):
                raise UserError(
                    f"the record {path} was written by a newer faintcall; update this one"
                )
            for number, script in enumerate(MIGRATIONS[version:], version + 1):
                for statement in script.split(";"):
                    if statement.strip():
                        self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {number}")

    def _version(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def _write_ahead(self) -> None:
        """Turn on write-ahead logging, waiting for another process that is making the file too.

        SQLite does not wait by itself here: two that change the mode at once would wait for ever.
        """
        deadline = time.monotonic() + WAIT_S
        while True:
            try:
                self._db.execute("PRAGMA journal_mode = WAL")
                return
            except sqlite3.OperationalError:
                if time.monotonic() > deadline:
                    raise
                time.sleep(0.02)

    @contextmanager
    def _write(self) -> Iterator[None]:
        """Run one transaction: all of it is kept, or nothing."""
        with self.transaction(writes=True):
            yield

    @contextmanager
    def transaction(self, *, writes: bool) -> Iterator[sqlite3.Connection]:
        """Lend the database for one transaction; one that only reads sees a single moment."""
        self._db.execute("BEGIN IMMEDIATE" if writes else "BEGIN")
        try:
            yield self._db
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    def __enter__(self) -> "Store":
        """Return the open store."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def begin(
        self,
        plan: Plan,
        *,
        now: datetime,
        version: str,
        mode: str = "practice",
        course: Mapping[str, Any] | None = None,
    ) -> str:
        """Record that a sitting starts; return its identity."""
        identity = uuid.uuid4().hex
        row = (identity, now.isoformat(), mode, _text(plan.to_dict()), version, _text(course or {}))
        with self._write():
            self._db.execute(
                "INSERT INTO sitting (id, started, mode, plan, version, course) "
                "VALUES (?, ?, ?, ?, ?, ?)",
                row,
            )
        return identity

    def add(self, sitting: str, number: int, attempt: Attempt) -> None:
        """Keep one answered item; when this returns, it is on the disk.

        Raises: AlreadyAnswered where the record has an answer to that item.
        """
        row = (
            sitting,
            number,
            attempt.answered_at,
            attempt.item.conditions.snr_db,
            int(attempt.right),
            points(attempt.scores, attempt.answer),
            json.dumps(to_data(attempt.item)),
            json.dumps(to_data(attempt.answer)),
            json.dumps([to_data(score) for score in attempt.scores]),
            attempt.version,
        )
        try:
            with self._write():
                self._db.execute(f"INSERT INTO attempt VALUES ({', '.join('?' * len(row))})", row)
        except sqlite3.IntegrityError as error:
            if error.sqlite_errorname != "SQLITE_CONSTRAINT_PRIMARYKEY":
                raise
            raise AlreadyAnswered(f"item {number + 1} has been answered already") from None

    def sittings(self, limit: int = -1, *, modes: Sequence[str] = ()) -> list[Sitting]:
        """Return the sittings with at least one answer, newest first; modes: only of these."""
        marks = ", ".join("?" * len(modes))
        rows = self._db.execute(
            f"SELECT {SUMS} FROM sitting JOIN attempt ON sitting.id = attempt.sitting "
            + (f"WHERE mode IN ({marks}) " if modes else "")
            + "GROUP BY id ORDER BY started DESC, id LIMIT ?",
            (*modes, limit),
        )
        return [_sitting(row) for row in rows]

    def sitting(self, identity: str) -> Sitting | None:
        """Return one sitting, with or without answers; None where there is no such."""
        row = self._db.execute(
            f"SELECT {SUMS} FROM sitting LEFT JOIN attempt ON sitting.id = attempt.sitting "
            "WHERE id = ? GROUP BY id",
            (identity,),
        ).fetchone()
        return None if row is None else _sitting(row)

    def attempts(self, sitting: str) -> list[Attempt]:
        """Return the answered items of a sitting in their order."""
        rows = self._db.execute(
            "SELECT at, item, answer, scores, version FROM attempt WHERE sitting = ? "
            "ORDER BY number",
            (sitting,),
        )
        return [_attempt(*row) for row in rows]

    def marks(self, sitting: str) -> list[tuple[float | None, bool, int]]:
        """Return SNR, whether it was right, and replays of a sitting's answers in their order."""
        rows = self._db.execute(
            "SELECT snr_db, right, json_extract(answer, '$.replays') FROM attempt "
            "WHERE sitting = ? ORDER BY number",
            (sitting,),
        )
        return [(snr_db, bool(right), replays) for snr_db, right, replays in rows]

    def times(self) -> list[tuple[str, str]]:
        """Return sitting and moment of every answer, oldest first."""
        return self._db.execute("SELECT sitting, at FROM attempt ORDER BY rowid").fetchall()

    def raw(self, modes: Sequence[str] = (), *, newest: int = -1) -> Iterator[Raw]:
        """Yield answers as plain data, oldest first, a few at a time; newest: only so many.

        Plain data is read several times quicker than whole attempts are made.
        """
        marks = ", ".join("?" * len(modes))
        rows = self._db.execute(
            "SELECT * FROM (SELECT mode, sitting, number, at, snr_db, right, item, answer, scores, "
            "attempt.rowid AS place FROM attempt JOIN sitting ON sitting.id = attempt.sitting "
            + (f"WHERE mode IN ({marks}) " if modes else "")
            + "ORDER BY place DESC LIMIT ?) ORDER BY place",
            (*modes, newest),
        )
        for mode, sitting, number, at, snr_db, right, item, answer, scores, _ in rows:
            yield Raw(
                mode=mode,
                sitting=sitting,
                number=number,
                at=at,
                snr_db=snr_db,
                right=bool(right),
                item=json.loads(item),
                answer=json.loads(answer),
                scores=json.loads(scores),
            )

    def setting(self, name: str) -> str | None:
        """Return a setting of the user's as it was kept; None where it was never set."""
        row = self._db.execute("SELECT value FROM setting WHERE name = ?", (name,)).fetchone()
        return None if row is None else str(row[0])

    def set_setting(self, name: str, value: str) -> None:
        """Keep a setting of the user's."""
        with self._write():
            self._db.execute("INSERT OR REPLACE INTO setting VALUES (?, ?)", (name, value))

    def add_take(
        self,
        prompt: Mapping[str, Any],
        review: Mapping[str, Any],
        *,
        now: datetime,
        version: str,
    ) -> None:
        """Keep what was found in a take of the trainee's own speech; no sound is kept."""
        with self._write():
            self._db.execute(
                "INSERT INTO take (at, prompt, review, version) VALUES (?, ?, ?, ?)",
                (now.isoformat(), _text(prompt), _text(review), version),
            )

    def takes(self, newest: int = -1) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Return when, prompt and review of the newest takes, newest first, as plain data."""
        rows = self._db.execute(
            "SELECT at, prompt, review FROM take ORDER BY id DESC LIMIT ?", (newest,)
        )
        return [(at, json.loads(prompt), json.loads(review)) for at, prompt, review in rows]

    def has_seen(self, caution: str) -> bool:
        """Return True where the user has been shown this caution."""
        found = self._db.execute("SELECT 1 FROM seen WHERE caution = ?", (caution,)).fetchone()
        return found is not None

    def set_seen(self, caution: str, *, now: datetime) -> None:
        """Keep that the user has been shown this caution."""
        with self._write():
            self._db.execute("INSERT OR IGNORE INTO seen VALUES (?, ?)", (caution, now.isoformat()))


def _sitting(row: Sequence[Any]) -> Sitting:
    """Return the sitting of a row of SUMS."""
    identity, started, mode, plan, course, answered, right, mean = row
    return Sitting(
        id=identity,
        started=started,
        mode=mode,
        plan=json.loads(plan),
        course=json.loads(course),
        answered=answered,
        right=right,
        points=mean,
    )


def _text(data: Mapping[str, Any]) -> str:
    return json.dumps(data)


def _attempt(at: str, item: str, answer: str, scores: str, version: str) -> Attempt:
    data: list[dict[str, Any]] = json.loads(scores)
    return Attempt(
        answered_at=at,
        item=from_data(Item, json.loads(item)),
        answer=Answer(**json.loads(answer)),
        scores=tuple(
            FieldScore(**{**score, "pairs": tuple(Pair(**pair) for pair in score["pairs"])})
            for score in data
        ),
        version=version,
    )
