"""Stored data that faintcall cannot have written is named by its place in the record."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.records.damage import report_damage
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, make_attempt


def record_with_all_tables(path: Path) -> None:
    with Store(path) as store:
        session = store.begin_session(PLAN, now=NOW, version="0.2.0")
        store.add_attempt(session, 0, make_attempt())
        store.add_take({}, {}, now=NOW, version="0.2.0")


@pytest.mark.parametrize(
    ("statement", "place"),
    [
        ("UPDATE sitting SET plan = '[]'", "session [0-9a-f]{32} "),
        ("UPDATE sitting SET course = 'x'", "session [0-9a-f]{32} "),
        ("UPDATE sitting SET started = 'noon'", "session [0-9a-f]{32} "),
        ("UPDATE attempt SET item = '{}'", "session [0-9a-f]{32}, item number 0 "),
        ("UPDATE attempt SET scores = '{}'", "session [0-9a-f]{32}, item number 0 "),
        ("UPDATE attempt SET answer = ''", "session [0-9a-f]{32}, item number 0 "),
        ("UPDATE attempt SET at = ''", "session [0-9a-f]{32}, item number 0 "),
        ("UPDATE take SET review = '5'", "take 1 "),
    ],
)
def test_the_first_damaged_place_is_reported(statement: str, place: str, record_path: Path) -> None:
    record_with_all_tables(record_path)
    with Store(record_path) as store:
        report_damage(store)  # nothing is wrong yet
        with store.transaction(writes=True) as db:
            db.execute(statement)
        with pytest.raises(UserError, match=f"is damaged in {place}") as caught:
            report_damage(store)
    assert "\n" not in str(caught.value)


def test_a_block_that_fails_on_damaged_data_reports_the_damage(record_path: Path) -> None:
    record_with_all_tables(record_path)
    with pytest.raises(UserError, match="is damaged in session"), Store(record_path) as store:
        with store.transaction(writes=True) as db:
            db.execute("UPDATE attempt SET item = '{}'")
        for attempt in store.raw_attempts():
            attempt.item["message"]


def test_a_block_that_fails_on_sound_data_keeps_its_error(record_path: Path) -> None:
    record_with_all_tables(record_path)
    with pytest.raises(KeyError), Store(record_path) as store:
        for attempt in store.raw_attempts():
            attempt.item["no such entry"]
