"""Unusable records: the message is correct, its advice works, and no data is lost."""

import errno
import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drill.core.errors import FaintcallError, UserError
from drill.records import database
from drill.records.failures import RecordUnavailable, file_error, record_error
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, make_attempt


def record_one_answer(store: Store) -> str:
    session = store.begin_session(PLAN, now=NOW, version="test")
    store.add_attempt(session, 0, make_attempt())
    return session


def limit_pages(store: Store, *, pages: int) -> None:
    """Make SQLite report a full disk: the file may grow by only a few pages.

    Source: SQLite documentation, PRAGMA max_page_count (SQLITE_FULL).
    """
    with store.transaction(writes=False) as db:
        used = db.execute("PRAGMA page_count").fetchone()[0]
        db.execute(f"PRAGMA max_page_count = {used + pages}")


def test_a_full_disk_is_reported_and_the_answer_can_be_saved_again(record_path: Path) -> None:
    with Store(record_path) as store:
        session = record_one_answer(store)
        limit_pages(store, pages=0)
        saved = 1
        with pytest.raises(RecordUnavailable, match="is full; free some space") as caught:
            for saved in range(1, 500):
                store.add_attempt(session, saved, make_attempt())
        assert caught.value.kind == "full"
        limit_pages(store, pages=1000)  # the user has freed some space
        store.add_attempt(session, saved, make_attempt())
        assert len(store.attempts(session)) == saved + 1


def test_a_read_only_record_is_reported_as_read_only(record_path: Path) -> None:
    with Store(record_path) as store:
        session = record_one_answer(store)
        with store.transaction(writes=False) as db:
            db.execute("PRAGMA query_only = ON")
        with pytest.raises(RecordUnavailable, match="is read-only; allow writing") as caught:
            store.add_attempt(session, 1, make_attempt())
        assert caught.value.kind == "read_only"
        assert "move it away" not in str(caught.value)
        assert len(store.attempts(session)) == 1


@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() == 0, reason="the superuser may write everywhere"
)
def test_a_record_in_a_read_only_folder_is_reported_as_read_only(record_path: Path) -> None:
    Store(record_path).close()
    record_path.chmod(0o400)
    record_path.parent.chmod(0o500)
    try:
        with pytest.raises(RecordUnavailable) as caught, Store(record_path) as store:
            record_one_answer(store)
        assert caught.value.kind == "read_only"
    finally:
        record_path.parent.chmod(0o700)


def test_a_locked_record_is_reported_as_locked_and_works_afterwards(
    record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(database, "BUSY_TIMEOUT_S", 0.05)
    with Store(record_path) as store:
        session = record_one_answer(store)
        with closing(sqlite3.connect(record_path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(RecordUnavailable, match="another program has locked") as caught:
                store.add_attempt(session, 1, make_attempt())
            other.execute("ROLLBACK")
        assert caught.value.kind == "locked"
        store.add_attempt(session, 1, make_attempt())
        assert len(store.attempts(session)) == 2


def test_a_failed_commit_leaves_no_open_transaction(record_path: Path) -> None:
    """Otherwise the next transaction fails: cannot start a transaction within a transaction."""
    with Store(record_path) as store:
        with store.transaction(writes=False) as db:
            db.execute("CREATE TABLE parent (id INTEGER PRIMARY KEY)")
            db.execute(
                "CREATE TABLE child (id INTEGER REFERENCES parent (id) "
                "DEFERRABLE INITIALLY DEFERRED)"
            )
        with pytest.raises(sqlite3.IntegrityError), store.transaction(writes=True) as db:
            db.execute("INSERT INTO child VALUES (1)")  # refused at COMMIT
        store.set_setting("volume", "0.5")
        assert store.setting("volume") == "0.5"


def test_a_corrupt_record_is_reported_as_damaged(record_path: Path) -> None:
    with Store(record_path) as store:
        session = record_one_answer(store)
        for number in range(1, 40):
            store.add_attempt(session, number, make_attempt())
    data = bytearray(record_path.read_bytes())
    for start in range(4096, len(data), 4096):
        data[start : start + 2000] = b"\xff" * 2000
    record_path.write_bytes(data)
    advice = r"is damaged .*put a backup in its place"
    with pytest.raises(UserError, match=advice) as caught, Store(record_path) as store:
        store.sessions()
    assert caught.value.kind == "damaged"
    assert record_path.read_bytes()[4096:4100] == b"\xff" * 4


def test_text_that_is_not_utf8_is_reported_as_damage(record_path: Path) -> None:
    with Store(record_path) as store:
        session = record_one_answer(store)
        with store.transaction(writes=True) as db:
            db.execute("UPDATE attempt SET item = CAST(x'ff' || item AS TEXT)")
        with pytest.raises(UserError, match="damaged"):
            store.attempts(session)


def test_record_and_folder_are_private_even_if_they_were_not(record_path: Path) -> None:
    Store(record_path).close()
    assert record_path.stat().st_mode & 0o777 == 0o600
    assert record_path.parent.stat().st_mode & 0o777 == 0o700
    record_path.chmod(0o644)
    record_path.parent.chmod(0o755)
    Store(record_path).close()
    assert record_path.stat().st_mode & 0o777 == 0o600
    assert record_path.parent.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize(
    ("code", "kind", "words"),
    [
        (errno.ENOSPC, "full", "is full"),
        (errno.EROFS, "read_only", "allow writing"),
        (errno.EACCES, "read_only", "allow writing"),
    ],
)
def test_a_folder_that_cannot_be_created_says_why(code: int, kind: str, words: str) -> None:
    error = file_error(Path("record.sqlite3"), OSError(code, os.strerror(code)))
    assert isinstance(error, RecordUnavailable)
    assert error.kind == kind
    assert words in str(error)


def test_every_message_is_one_line_and_only_damage_advises_a_new_record() -> None:
    """Names from the SQLite documentation, Result and Error Codes."""
    names = [name for name in vars(sqlite3) if name.startswith("SQLITE_") and name.isupper()]
    codes = [name for name in names if name.split("_")[1] in ("FULL", "BUSY", "IOERR", "READONLY")]
    assert len(codes) > 20
    for name in codes:
        error = sqlite3.OperationalError("reason")
        error.sqlite_errorname = name
        result = record_error(Path("record.sqlite3"), error)
        assert isinstance(result, RecordUnavailable), name
        assert "\n" not in str(result)
        assert "move it away" not in str(result)
    damage: FaintcallError = record_error(Path("r"), sqlite3.DatabaseError("not a database"))
    assert isinstance(damage, UserError)
