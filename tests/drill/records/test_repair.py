"""Answers that version 0.2.0 stored with bytes that are not UTF-8 are repaired."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

from drill.records.database import MIGRATIONS
from drill.records.reading import read_attempts
from drill.records.repair import repaired_json
from drill.records.rows import attempt_rows
from drill.records.store import Store
from drill.records.writing import WRITERS, write_attempts
from tests.drill.records.attempts import NOW, PLAN, make_attempt

REPAIR_VERSION = 5
"""Version of the record whose migration repairs the texts."""


def record_of_version_0_2_0(path: Path, typed: str) -> str:
    """Write a record as version 0.2.0 left it, with a given answer; return the session's id."""
    with Store(path) as store:
        session = store.begin_session(PLAN, now=NOW, version="0.2.0")
        store.add_attempt(session, 0, make_attempt())
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        (answer,) = db.execute("SELECT answer FROM attempt").fetchone()
        text = json.dumps({**json.loads(answer), "text": typed})
        db.execute("UPDATE attempt SET answer = ?", (text,))
        db.execute(f"PRAGMA user_version = {REPAIR_VERSION - 1}")
    return session


def test_a_stored_surrogate_is_replaced_when_the_record_is_opened(record_path: Path) -> None:
    session = record_of_version_0_2_0(record_path, "E8\udce4BC \N{GRINNING FACE}")
    assert len(MIGRATIONS) >= REPAIR_VERSION
    with Store(record_path) as store:
        (attempt,) = store.attempts(session)
    assert attempt.answer.typed == "E8\N{REPLACEMENT CHARACTER}BC \N{GRINNING FACE}"


def test_a_repaired_record_is_exported_and_read_back(record_path: Path, tmp_path: Path) -> None:
    record_of_version_0_2_0(record_path, "E8\udce4BC")
    for format_name in WRITERS:
        path = tmp_path / f"attempts.{format_name}"
        with Store(record_path) as store:
            assert write_attempts(path, format_name, attempt_rows(store)) == 1
        assert len(list(read_attempts(path))) == 1


def test_an_export_of_version_0_2_0_with_a_surrogate_is_imported(
    record_path: Path, tmp_path: Path
) -> None:
    record_of_version_0_2_0(record_path, "E8ABC")
    path = tmp_path / "attempts.jsonl"
    with Store(record_path) as store:
        write_attempts(path, "jsonl", attempt_rows(store))
    text = path.read_text("utf-8")
    assert text.count("E8ABC")
    path.write_text(text.replace('"text": "E8ABC"', r'"text": "E8\udce4BC"'), "utf-8")
    (row,) = read_attempts(path)
    assert json.loads(row.answer)["text"] == "E8\N{REPLACEMENT CHARACTER}BC"


def test_keys_and_nested_values_are_repaired_and_other_text_stays() -> None:
    assert json.loads(repaired_json(r'{"\ud800": ["\udfff", 1, null]}')) == {
        "\N{REPLACEMENT CHARACTER}": ["\N{REPLACEMENT CHARACTER}", 1, None]
    }
    assert repaired_json("not JSON \ud800") == "not JSON \ud800"
