"""The record: what goes in comes out, two processes share it, nothing that was kept is lost."""

import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drill.core.conditions import Conditions
from drill.core.errors import AlreadyAnswered, UserError
from drill.core.models import Answer, Attempt, Item, Operator
from drill.items.plan import Plan
from drill.records.store import MIGRATIONS, Store
from drill.scoring.answers import score
from phonetics.message import Field, Message, Word

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PLAN = Plan(seed=1, count=3, mix="unassigned")


def attempt(text: str = "E8ABC", snr_db: float | None = -3.0) -> Attempt:
    fields = (Field(name="call", kind="call", text="E8ABC"),)
    message = Message(
        part="call",
        exchange="",
        call="E8ABC",
        fields=fields,
        words=(Word(say="echo", means="E", field="call"),),
    )
    item = Item(
        seed=5,
        message=message,
        operator=Operator(name="birch", engine="natural", voice="heart", pitch_hz=120.0),
        conditions=Conditions(snr_db=snr_db),
    )
    return Attempt(
        answered_at=NOW.isoformat(),
        item=item,
        answer=Answer(typed=text, seconds=1.5, replays=1),
        scores=score(fields, text),
        version="test",
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "folder" / "record.sqlite3"


def test_an_attempt_comes_back_as_it_went_in(path: Path) -> None:
    with Store(path) as store:
        sitting = store.begin(PLAN, now=NOW, version="test")
        store.add(sitting, 0, attempt())
        store.add(sitting, 1, attempt("E8ABX", snr_db=None))
    with Store(path) as store:
        assert store.attempts(sitting) == [attempt(), attempt("E8ABX", snr_db=None)]


def test_history_is_newest_first_and_leaves_empty_sittings_out(path: Path) -> None:
    with Store(path) as store:
        for hours, answers in [(0, ["E8ABC", "E8"]), (2, ["E8ABC"]), (1, [])]:
            sitting = store.begin(PLAN, now=NOW + timedelta(hours=hours), version="test")
            for number, text in enumerate(answers):
                store.add(sitting, number, attempt(text))
        rows = store.sittings()
        assert [(row.answered, row.right, row.points) for row in rows] == [(1, 1, 80), (2, 1, 40)]
        assert Plan.from_dict(rows[0].plan) == PLAN
        assert len(store.sittings(limit=1)) == 1


def test_an_item_is_answered_once(path: Path) -> None:
    with Store(path) as store:
        sitting = store.begin(PLAN, now=NOW, version="test")
        store.add(sitting, 0, attempt())
        with pytest.raises(AlreadyAnswered, match="item 1 has been answered already"):
            store.add(sitting, 0, attempt("E8"))
        assert store.attempts(sitting) == [attempt()]


def test_one_sitting_is_found_with_or_without_answers(path: Path) -> None:
    with Store(path) as store:
        sitting = store.begin(PLAN, now=NOW, version="test")
        assert store.sitting("other") is None
        found = store.sitting(sitting)
        assert found is not None
        assert (found.id, found.answered, found.right, found.points) == (sitting, 0, 0, 0.0)
        assert store.sittings() == []
        store.add(sitting, 0, attempt())
        assert store.sittings() == [store.sitting(sitting)]


def test_settings_stay(path: Path) -> None:
    with Store(path) as store:
        assert store.setting("volume") is None
        store.set_setting("volume", "0.3")
        store.set_setting("volume", "0.4")
    with Store(path) as store:
        assert store.setting("volume") == "0.4"


def test_an_answer_needs_its_sitting(path: Path) -> None:
    with Store(path) as store, pytest.raises(sqlite3.IntegrityError):
        store.add("nobody", 0, attempt())


def test_a_caution_is_seen_once_and_for_all(path: Path) -> None:
    with Store(path) as store:
        assert not store.has_seen("hearing")
        store.set_seen("hearing", now=NOW)
        store.set_seen("hearing", now=NOW)
    with Store(path) as store:
        assert store.has_seen("hearing")


def test_a_new_record_has_the_latest_form(path: Path) -> None:
    Store(path).close()
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        with pytest.raises(sqlite3.IntegrityError, match="cannot store"):
            db.execute("INSERT INTO seen VALUES ('x', x'00')")  # STRICT tables hold types
    db.close()


def test_an_old_record_is_brought_up_to_date(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Store(path) as store:
        sitting = store.begin(PLAN, now=NOW, version="test")
        store.add(sitting, 0, attempt())
    added = "ALTER TABLE attempt ADD COLUMN place TEXT"
    monkeypatch.setattr("drill.records.store.MIGRATIONS", (*MIGRATIONS, added))
    with Store(path) as store:
        assert store.attempts(sitting) == [attempt()]
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS) + 1,)
    db.close()


def test_a_migration_that_fails_leaves_the_record_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(path) as store:
        sitting = store.begin(PLAN, now=NOW, version="test")
        store.add(sitting, 0, attempt())
    broken = "ALTER TABLE attempt ADD COLUMN place TEXT; DROP TABLE nowhere"
    with monkeypatch.context() as patch:
        patch.setattr("drill.records.store.MIGRATIONS", (*MIGRATIONS, broken))
        with pytest.raises(UserError, match="cannot be used"):
            Store(path)
    with Store(path) as store:
        assert store.attempts(sitting) == [attempt()]


def test_a_record_of_a_newer_version_is_left_alone(path: Path) -> None:
    Store(path).close()
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(UserError, match="newer faintcall"):
        Store(path)


def test_a_file_that_is_no_record_is_told_in_one_line(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("not a database, but long enough to be looked at as one" * 40)
    with pytest.raises(UserError, match="cannot be used") as caught:
        Store(path)
    assert "\n" not in str(caught.value)
    assert "not a database" in path.read_text()


WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, {tests!r})
from tests.drill.records.test_store import NOW, PLAN, attempt
from drill.records.store import Store
with Store(Path({path!r})) as store:
    sitting = store.begin(PLAN, now=NOW, version="test")
    for number in range(40):
        store.add(sitting, number, attempt())
"""


def test_two_processes_write_at_once(path: Path) -> None:
    code = WRITER.format(tests=str(Path(__file__).parents[3]), path=str(path))
    writers = [subprocess.Popen([sys.executable, "-c", code]) for _ in range(2)]
    assert [writer.wait() for writer in writers] == [0, 0]
    with Store(path) as store:
        assert [row.answered for row in store.sittings()] == [40, 40]
