"""The record: one SQLite file, one transaction an answer.

Write-ahead logging lets two processes use it at once; a process that is killed leaves every answer
that was committed. Sound is not kept: an item's data gives it again.
"""

import json
import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from drill.errors import UserError
from drill.items import Answer, Attempt, FieldScore, Item, Pair
from drill.plan import Plan
from drill.scoring import points

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
)
WAIT_S = 10.0
"""How long one process waits for another that is writing."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sitting:
    """One row of the history: a sitting and the sums over its answers.

    plan is the data of the Plan as it was written: a voice or an exchange of then may be gone now.
    """

    id: str
    started: str
    plan: dict[str, Any]
    answered: int
    right: int
    points: float


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
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")  # an answer survives a loss of power too
        self._db.execute("PRAGMA foreign_keys = ON")
        with self._write():
            (version,) = self._db.execute("PRAGMA user_version").fetchone()
            if version > len(MIGRATIONS):
                raise UserError(
                    f"the record {path} was written by a newer faintcall; update this one"
                )
            for number, script in enumerate(MIGRATIONS[version:], version + 1):
                for statement in script.split(";"):
                    if statement.strip():
                        self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {number}")

    @contextmanager
    def _write(self) -> Iterator[None]:
        """Run one transaction: all of it is kept, or nothing."""
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
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

    def begin(self, plan: Plan, *, now: datetime, version: str, mode: str = "practice") -> str:
        """Record that a sitting starts; return its identity."""
        identity = uuid.uuid4().hex
        with self._write():
            self._db.execute(
                "INSERT INTO sitting VALUES (?, ?, ?, ?, ?)",
                (identity, now.isoformat(), mode, json.dumps(plan.to_dict()), version),
            )
        return identity

    def add(self, sitting: str, number: int, attempt: Attempt) -> None:
        """Keep one answered item; when this returns, it is on the disk."""
        row = (
            sitting,
            number,
            attempt.at,
            attempt.item.conditions.snr_db,
            int(attempt.right),
            points(attempt.scores, attempt.answer),
            json.dumps(attempt.item.to_dict()),
            json.dumps(asdict(attempt.answer)),
            json.dumps([asdict(score) for score in attempt.scores]),
            attempt.version,
        )
        with self._write():
            self._db.execute(f"INSERT INTO attempt VALUES ({', '.join('?' * len(row))})", row)

    def sittings(self, limit: int = -1) -> list[Sitting]:
        """Return the sittings with at least one answer, newest first."""
        rows = self._db.execute(
            "SELECT id, started, plan, count(*), sum(right), avg(points) FROM sitting "
            "JOIN attempt ON sitting.id = attempt.sitting GROUP BY id "
            "ORDER BY started DESC, id LIMIT ?",
            (limit,),
        )
        return [
            Sitting(
                id=identity,
                started=started,
                plan=json.loads(plan),
                answered=answered,
                right=right,
                points=mean,
            )
            for identity, started, plan, answered, right, mean in rows
        ]

    def attempts(self, sitting: str) -> list[Attempt]:
        """Return the answered items of a sitting in their order."""
        rows = self._db.execute(
            "SELECT at, item, answer, scores, version FROM attempt WHERE sitting = ? "
            "ORDER BY number",
            (sitting,),
        )
        return [_attempt(*row) for row in rows]

    def has_seen(self, caution: str) -> bool:
        """Return True where the user has been shown this caution."""
        found = self._db.execute("SELECT 1 FROM seen WHERE caution = ?", (caution,)).fetchone()
        return found is not None

    def set_seen(self, caution: str, *, now: datetime) -> None:
        """Keep that the user has been shown this caution."""
        with self._write():
            self._db.execute("INSERT OR IGNORE INTO seen VALUES (?, ?)", (caution, now.isoformat()))


def _attempt(at: str, item: str, answer: str, scores: str, version: str) -> Attempt:
    data: list[dict[str, Any]] = json.loads(scores)
    return Attempt(
        at=at,
        item=Item.from_dict(json.loads(item)),
        answer=Answer(**json.loads(answer)),
        scores=tuple(
            FieldScore(**{**score, "pairs": tuple(Pair(**pair) for pair in score["pairs"])})
            for score in data
        ),
        version=version,
    )
