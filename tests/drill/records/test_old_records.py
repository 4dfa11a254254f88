"""A record and an export of version 0.2.0 are read; today's export of that record is the same."""

import json
import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from drill.core.structuring import to_data
from drill.items.plan import Plan, compose_item
from drill.records.reading import read_attempts
from drill.records.rows import attempt_rows, merge_attempts
from drill.records.store import Store
from drill.records.writing import write_attempts
from drill.scoring.answers import score_answer
from phonetics.message import Field, Message, Word
from tests.drill.data_of_0_2_0 import data_of_0_2_0
from tests.drill.records.attempts import NOW, make_attempt

DATA = Path(__file__).parent / "data"
EXPORT = DATA / "attempts-0.2.0.jsonl"
SESSIONS = [
    ("comparing", 3),
    ("quick", 2),
    ("measuring", 3),
    ("training", 2),
    ("practice", 2),
    ("practice", 2),
    ("practice", 3),
]


@pytest.fixture
def old_record(tmp_path: Path) -> Path:
    """Return a copy of the record of version 0.2.0."""
    return Path(shutil.copy(DATA / "record-0.2.0.sqlite3", tmp_path / "record.sqlite3"))


def test_all_sessions_and_plans_are_read(old_record: Path) -> None:
    with Store(old_record) as store:
        sessions = store.sessions()
        assert [(session.mode, session.answered) for session in sessions] == SESSIONS
        plans = [Plan.from_dict(session.plan) for session in sessions]
        assert [plan.seed for plan in plans] == [26, 25, 24, 23, 13, 12, 11]
        assert plans[4].learned is not None
        assert plans[4].conditions.snr_db is None
        assert len(plans[5].conditions.neighbours) == 3


def test_attempts_have_the_stored_values_under_the_present_names(old_record: Path) -> None:
    with sqlite3.connect(old_record) as db:
        stored = {
            (session, number): (json.loads(item), json.loads(answer), json.loads(scores))
            for session, number, item, answer, scores in db.execute(
                "SELECT sitting, number, item, answer, scores FROM attempt"
            )
        }
    db.close()
    scales = set()
    with Store(old_record) as store:
        for session in store.sessions():
            for number, attempt in enumerate(store.attempts(session.id)):
                item, answer, scores = stored[session.id, number]
                assert attempt.item.operator.formant_scale == item["operator"]["tract"]
                assert attempt.item.operator.vocal_style == item["operator"]["style"]
                assert attempt.answer.typed == answer["text"]
                assert [score.typed for score in attempt.scores] == [
                    score["copied"] for score in scores
                ]
                assert to_data(attempt.item) == item
                assert to_data(attempt.answer) == answer
                assert to_data(attempt.scores) == scores
                scales.add(attempt.item.operator.formant_scale)
    assert len(scales) > 3


def test_the_plans_still_give_the_same_items(old_record: Path) -> None:
    with Store(old_record) as store:
        practice = [session for session in store.sessions() if session.mode == "practice"]
        assert len(practice) == 3
        for session in practice:
            plan = Plan.from_dict(session.plan)
            items = [attempt.item for attempt in store.attempts(session.id)]
            with data_of_0_2_0():
                assert [compose_item(plan, number) for number in range(len(items))] == items


def test_settings_takes_and_cautions_are_read(old_record: Path) -> None:
    with Store(old_record) as store:
        assert store.setting("own-call") == "E87ABC"
        assert store.setting("volume") == "0.25"
        assert [time[:10] for time, _, _ in store.takes()] == ["2025-05-02", "2025-05-01"]
        assert store.has_seen("hearing")


def test_the_export_is_the_same_file(old_record: Path, tmp_path: Path) -> None:
    path = tmp_path / "attempts.jsonl"
    with Store(old_record) as store:
        assert write_attempts(path, "jsonl", attempt_rows(store)) == 17
    assert path.read_bytes() == EXPORT.read_bytes()


def test_the_old_export_gives_the_old_record(old_record: Path, tmp_path: Path) -> None:
    with Store(old_record) as store, Store(tmp_path / "new" / "record.sqlite3") as new:
        assert merge_attempts(new, read_attempts(EXPORT)).added == 17
        assert list(attempt_rows(new)) == list(attempt_rows(store))


def test_an_answer_to_the_old_five_part_exchange_keeps_its_fields(record_path: Path) -> None:
    """Version 0.2.0 gave the parts in another order; an answered item keeps its words."""
    texts = (("serial", "014"), ("letter", "Q"), ("call", "E8ABC"), ("year", "87"), ("area", "STO"))
    fields = tuple(Field(name=kind, kind=kind, text=text) for kind, text in texts)
    words = (Word(say="quebec", means="Q", field="letter"),)
    message = Message(part="over", exchange="five-part", call="E8ABC", fields=fields, words=words)
    attempt = make_attempt()
    item = replace(attempt.item, message=message)
    attempt = replace(attempt, item=item, scores=score_answer(fields, "014 Q E8ABC 87 STO"))
    assert attempt.right
    plan = Plan(seed=1, count=2, part="over", exchange="five-part", mix="unassigned")
    with Store(record_path) as store:
        session = store.begin_session(plan, now=NOW, version="0.2.0", mode="practice")
        store.add_attempt(session, 0, attempt)
        (record,) = store.sessions()
        assert Plan.from_dict(record.plan) == plan
        assert store.attempts(session) == [attempt]
    # The remaining items follow the exchange of today.
    names = [field.name for field in compose_item(plan, 1).message.fields]
    assert names == ["call", "area", "year", "class", "serial"]
