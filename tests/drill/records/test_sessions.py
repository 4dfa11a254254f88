"""Sessions and attempts are read back in order, and never overwritten."""

import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from drill.core.errors import AlreadyAnswered, UserError
from drill.items.machine_copy import MachineCopy
from drill.items.plan import Plan
from drill.records.contacts import ContactEvent
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, make_attempt


def test_an_attempt_is_read_back_unchanged(record_path: Path) -> None:
    attempts = [make_attempt(), make_attempt("E8ABX", snr_db=None)]
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        for number, attempt in enumerate(attempts):
            store.add_attempt(session, number, attempt)
    with Store(record_path) as store:
        assert store.attempts(session) == attempts


def test_sessions_come_newest_first_and_only_with_answers(record_path: Path) -> None:
    with Store(record_path) as store:
        for hours, answers in [(0, ["E8ABC", "E8"]), (2, ["E8ABC"]), (1, [])]:
            session = store.begin_session(PLAN, now=NOW + timedelta(hours=hours), version="test")
            for number, typed in enumerate(answers):
                store.add_attempt(session, number, make_attempt(typed))
        sessions = store.sessions()
        sums = [(session.answered, session.right) for session in sessions]
        assert sums == [(1, 1), (2, 1)]
        assert Plan.from_dict(sessions[0].plan) == PLAN
        assert store.sessions(limit=1) == sessions[:1]


def test_a_repetition_is_not_counted_as_right_on_first_hearing(record_path: Path) -> None:
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        for number, (typed, replays) in enumerate([("E8ABC", 0), ("E8ABC", 1), ("E8AB", 0)]):
            store.add_attempt(session, number, make_attempt(typed, replays=replays))
        (record,) = store.sessions()
        assert (record.answered, record.right, record.right_at_first_hearing) == (3, 2, 1)


def test_sessions_can_be_limited_to_kinds(record_path: Path) -> None:
    with Store(record_path) as store:
        for mode in ("practice", "training", "measuring"):
            session = store.begin_session(PLAN, now=NOW, version="test", mode=mode, course={"a": 1})
            store.add_attempt(session, 0, make_attempt())
        chosen = store.sessions(modes=("training", "measuring"))
        assert {session.mode for session in chosen} == {"training", "measuring"}
        assert chosen[0].course == {"a": 1}


def test_an_item_is_answered_once(record_path: Path) -> None:
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        store.add_attempt(session, 0, make_attempt())
        with pytest.raises(AlreadyAnswered, match="item 1 already has an answer"):
            store.add_attempt(session, 0, make_attempt("E8"))
        assert store.attempts(session) == [make_attempt()]


def test_one_session_is_found_with_or_without_answers(record_path: Path) -> None:
    with Store(record_path) as store:
        identity = store.begin_session(PLAN, now=NOW, version="test")
        assert store.session("other") is None
        session = store.session(identity)
        assert session is not None
        sums = (session.answered, session.right, session.right_at_first_hearing)
        assert (session.id, sums) == (identity, (0, 0, 0))
        assert store.sessions() == []
        store.add_attempt(identity, 0, make_attempt())
        assert store.sessions() == [store.session(identity)]


def test_an_attempt_needs_a_session(record_path: Path) -> None:
    with Store(record_path) as store, pytest.raises(sqlite3.IntegrityError):
        store.add_attempt("nobody", 0, make_attempt())


def test_raw_attempts_are_the_newest_in_order_of_time(record_path: Path) -> None:
    """Training and report use the newest answers."""
    with Store(record_path) as store:
        sessions = [
            store.begin_session(PLAN, now=NOW, version="test", mode=mode)
            for mode in ("practice", "training")
        ]
        for number in range(3):
            for session in sessions:
                store.add_attempt(session, number, make_attempt(f"E{number}"))
        order = [(raw.mode, raw.number) for raw in store.raw_attempts()]
        modes = ("practice", "training")
        assert order == [(mode, number) for number in range(3) for mode in modes]
        newest = [(raw.mode, raw.number) for raw in store.raw_attempts(newest=3)]
        assert newest == [("training", 1), ("practice", 2), ("training", 2)]
        practice = list(store.raw_attempts(("practice",), newest=2))
        assert [(raw.mode, raw.number) for raw in practice] == [("practice", 1), ("practice", 2)]
        last = practice[-1]
        assert last.session == sessions[0]
        assert last.answer == {"text": "E2", "seconds": 1.5, "replays": 1, "gave_up": False}
        assert last.item["operator"]["name"] == "birch"
        assert [score["copied"] for score in last.scores] == ["E2"]
        assert (last.snr_db, last.right, last.answered_at) == (-3.0, False, NOW.isoformat())


def test_outcomes_and_times_follow_the_attempts(record_path: Path) -> None:
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        store.add_attempt(session, 0, make_attempt(replays=2))
        store.add_attempt(session, 1, make_attempt("E8", snr_db=None, replays=0))
        assert store.attempt_outcomes(session) == [(-3.0, True, 2), (None, False, 0)]
        assert store.attempt_times() == [(session, NOW.isoformat())] * 2


def test_a_damaged_attempt_is_reported_in_one_line(record_path: Path) -> None:
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        store.add_attempt(session, 0, make_attempt())
        with store.transaction(writes=True) as db:
            db.execute("UPDATE attempt SET answer = '{\"text\": 5}'")
        with pytest.raises(UserError, match=r"answer\.text has to be text, not 5") as caught:
            store.attempts(session)
        assert caught.value.field == "answer.text"


def test_attempts_are_read_from_a_number_on(record_path: Path) -> None:
    attempts = [make_attempt(), make_attempt("E8ABX"), make_attempt("E8")]
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test")
        for number, attempt in enumerate(attempts):
            store.add_attempt(session, number, attempt)
        assert store.attempts(session, first=1) == attempts[1:]
        assert store.answer_time(session, 2) == attempts[2].answered_at
        assert store.answer_time(session, 3) is None


def test_a_deleted_session_leaves_nothing_behind(record_path: Path) -> None:
    with Store(record_path) as store:
        session = store.begin_session(PLAN, now=NOW, version="test", mode="measuring")
        kept = store.begin_session(PLAN, now=NOW, version="test")
        for identity in (session, kept):
            store.add_attempt(identity, 0, make_attempt())
        store.add_machine_copy(
            session, 0, MachineCopy(recogniser="own test", typed="E8ABC", right=False)
        )
        store.add_contact_event(session, 0, 0, ContactEvent("act", {"at": 0}))
        assert store.delete_session(session)
        assert not store.delete_session(session)
        assert store.session(session) is None
        assert store.attempts(session) == []
        assert [record.id for record in store.sessions()] == [kept]
        assert store.contact_events(session, 0) == []
