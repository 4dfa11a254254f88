"""The record file: durability, migrations, several processes, files that are not records."""

import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from drill.core.errors import UserError
from drill.records.database import MIGRATIONS, RecordDatabase
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, make_attempt


def record_one_answer(path: Path) -> str:
    with Store(path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        store.add_attempt(session, 0, make_attempt())
    return session


def test_every_commit_is_flushed_to_disk(
    record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In WAL mode only synchronous=FULL (2) flushes the log at each commit.

    Builds of SQLite differ in the default, so the connection here starts with another value.
    Source: SQLite documentation, PRAGMA synchronous.
    """
    connect = sqlite3.connect

    def connect_unsafe(path: Path, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = connect(path, **options)
        connection.execute("PRAGMA synchronous = OFF")
        return connection

    monkeypatch.setattr(sqlite3, "connect", connect_unsafe)
    with RecordDatabase(record_path) as record, record.transaction(writes=False) as db:
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert db.execute("PRAGMA foreign_keys").fetchone() == (1,)


def test_a_new_record_has_the_latest_version_and_strict_tables(record_path: Path) -> None:
    Store(record_path).close()
    with sqlite3.connect(record_path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
        with pytest.raises(sqlite3.IntegrityError, match="cannot store"):
            db.execute("INSERT INTO seen VALUES ('x', x'00')")
    db.close()


def test_a_failed_transaction_changes_nothing(record_path: Path) -> None:
    with Store(record_path) as store:
        with pytest.raises(RuntimeError), store.transaction(writes=True) as db:
            db.execute("INSERT INTO setting VALUES ('volume', '1')")
            raise RuntimeError
        assert store.setting("volume") is None
        store.set_setting("volume", "0.5")  # the next transaction works
        assert store.setting("volume") == "0.5"


def test_a_read_only_transaction_sees_one_snapshot(record_path: Path) -> None:
    with Store(record_path) as store, Store(record_path) as other:
        other.set_setting("volume", "0.5")
        with store.transaction(writes=False):
            assert store.setting("volume") == "0.5"
            other.set_setting("volume", "0.7")
            assert store.setting("volume") == "0.5"
        assert store.setting("volume") == "0.7"


def test_an_old_record_is_migrated(record_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = record_one_answer(record_path)
    migration = "ALTER TABLE attempt ADD COLUMN place TEXT"
    monkeypatch.setattr("drill.records.database.MIGRATIONS", (*MIGRATIONS, migration))
    with Store(record_path) as store:
        assert store.attempts(session) == [make_attempt()]
    with sqlite3.connect(record_path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS) + 1,)
    db.close()


def test_a_failed_migration_leaves_the_record_unchanged(
    record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = record_one_answer(record_path)
    broken = "ALTER TABLE attempt ADD COLUMN place TEXT; DROP TABLE nowhere"
    with monkeypatch.context() as patch:
        patch.setattr("drill.records.database.MIGRATIONS", (*MIGRATIONS, broken))
        with pytest.raises(UserError, match="cannot be used"):
            Store(record_path)
    with Store(record_path) as store:
        assert store.attempts(session) == [make_attempt()]


def test_a_record_of_a_newer_version_is_refused(record_path: Path) -> None:
    Store(record_path).close()
    with sqlite3.connect(record_path) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(UserError, match="newer faintcall"):
        Store(record_path)


def test_another_file_is_refused_in_one_line_and_kept(record_path: Path) -> None:
    record_path.parent.mkdir()
    record_path.write_text("not a database, but long enough to be read as one" * 40)
    with pytest.raises(UserError, match="cannot be used") as caught:
        Store(record_path)
    assert "\n" not in str(caught.value)
    assert "not a database" in record_path.read_text()


def test_a_path_that_cannot_be_opened_is_refused_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UserError, match="cannot be opened") as caught:
        Store(tmp_path / "file" / "record.sqlite3")
    assert "\n" not in str(caught.value)


WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, {root!r})
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, make_attempt
with Store(Path({path!r})) as store:
    session = store.begin_session(PLAN, now=NOW, version="test")
    for number in range(40):
        store.add_attempt(session, number, make_attempt())
"""


@pytest.mark.slow
def test_two_processes_write_at_the_same_time(record_path: Path) -> None:
    code = WRITER.format(root=str(Path(__file__).parents[3]), path=str(record_path))
    writers = [subprocess.Popen([sys.executable, "-c", code]) for _ in range(2)]
    assert [writer.wait() for writer in writers] == [0, 0]
    with Store(record_path) as store:
        assert [session.answered for session in store.sessions()] == [40, 40]
