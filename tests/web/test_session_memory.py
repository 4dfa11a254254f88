"""The server's memory of a session follows the record, even if another process changes it."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.records.store import Store
from drill.session.kinds.practice import Practice
from drill.session.session import Session
from drill.web.session_memory import SessionMemory
from tests.drill.records.attempts import NOW, PLAN, make_attempt


@pytest.fixture
def record_path(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite3"


def test_attempts_of_another_window_are_seen(record_path: Path) -> None:
    memory = SessionMemory()
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        assert memory.attempts(store, session) == ()
        for number in range(3):
            store.add_attempt(session, number, make_attempt(f"E8AB{number}"))
            assert memory.attempts(store, session) == tuple(store.attempts(session))


def test_only_new_attempts_are_read(record_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    memory = SessionMemory()
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        store.add_attempt(session, 0, make_attempt())
        memory.attempts(store, session)
        store.add_attempt(session, 1, make_attempt("E8AB"))
        read: list[int] = []
        attempts = store.attempts

        def counted(session: str, *, first: int = 0) -> list[object]:
            read.append(first)
            return list(attempts(session, first=first))

        monkeypatch.setattr(store, "attempts", counted)
        assert len(memory.attempts(store, session)) == 2
        assert read == [1]


def test_a_restored_copy_of_the_record_is_read_again(record_path: Path, tmp_path: Path) -> None:
    memory = SessionMemory()
    copies = [record_path, tmp_path / "copy.sqlite3"]
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
    copies[1].write_bytes(record_path.read_bytes())
    later = replace(make_attempt("E8AB"), answered_at="2026-02-01T00:00:00+00:00")
    for path, attempts in zip(copies, ([make_attempt(), make_attempt()], [later]), strict=True):
        with Store(path) as store:
            for number, attempt in enumerate(attempts):
                store.add_attempt(session, number, attempt)
            assert memory.attempts(store, session) == tuple(attempts)


def test_the_current_item_is_composed_once(
    record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    composed: list[int] = []
    compose = Practice.item

    def counted(self: Practice, number: int, attempts: object) -> object:
        composed.append(number)
        return compose(self, number, ())

    monkeypatch.setattr(Practice, "item", counted)
    memory = SessionMemory()
    kind = Practice(plan=PLAN)
    with Store(record_path) as store:
        identity = Session.begin(kind, store, now=NOW).identity
        for attempts in ((), (), (make_attempt(),), (make_attempt(),)):
            session = Session(kind, store, identity=identity, attempts=attempts, items=memory.items)
            assert session.item() == kind.spoken_item(len(attempts))
    assert composed == [0, 1]
