"""Rows of attempts: chosen by session, merged once, all or none."""

from datetime import timedelta
from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.rows import AttemptRow, attempt_rows, count_attempts, merge_attempts
from drill.records.store import Store
from tests.drill.records.attempts import NOW, record_session


def rows_of_record() -> list[AttemptRow]:
    with Store(record_file()) as store:
        return list(attempt_rows(store))


@pytest.mark.usefixtures("filled_record")
def test_rows_are_chosen_by_start_and_kind_of_their_session() -> None:
    with Store(record_file()) as store:
        later = NOW + timedelta(days=1)
        assert [row.number for row in attempt_rows(store)] == [0, 1, 2, 3, 0, 1]
        assert {row.mode for row in attempt_rows(store, since=later)} == {"training"}
        assert {row.mode for row in attempt_rows(store, mode="practice")} == {"practice"}
        assert count_attempts(store) == 6
        assert count_attempts(store, since=later) == 2
        assert count_attempts(store, since=NOW, mode="practice") == 4
        assert count_attempts(store, mode="quick") == 0


def test_merging_adds_what_is_missing_once(filled_record: tuple[str, str], tmp_path: Path) -> None:
    rows = rows_of_record()
    with Store(tmp_path / "other" / "record.sqlite3") as store:
        plan = Plan(seed=9, count=2, mix="unassigned")
        own = record_session(store, plan, ["right"], now=NOW, mode="practice")
        assert merge_attempts(store, rows[:2]).added == 2
        assert merge_attempts(store, rows).added == 4
        assert merge_attempts(store, rows).added == 0
        assert {row.session for row in attempt_rows(store)} == {*filled_record, own}


@pytest.mark.usefixtures("filled_record")
def test_a_stored_attempt_is_not_replaced() -> None:
    rows = rows_of_record()
    with Store(record_file()) as store:
        assert merge_attempts(store, [row._replace(points=1.0) for row in rows]).added == 0
    assert rows_of_record() == rows


@pytest.mark.usefixtures("filled_record")
def test_a_session_with_a_gap_is_refused_and_nothing_is_added(tmp_path: Path) -> None:
    rows = rows_of_record()
    with Store(tmp_path / "other" / "record.sqlite3") as store:
        with pytest.raises(UserError, match="lacks 1 attempts before number 3"):
            merge_attempts(store, [row for row in rows if row.number != 1])
        assert list(attempt_rows(store)) == []
