"""Sentences about the machine that copies the trainee's items."""

from pathlib import Path

import pytest

from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.kinds.comparison import Comparison
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.machine import copy_items, items_to_copy
from drill.session.machine_wording import MACHINE_NOTE, machine_blocks
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import SimulatedTrainee, record_session

PLAN = Plan(seed=3, count=24, mix="unassigned", voices=("tin", "wren"))


def record_and_copy(
    store: Store, kind: SessionKind, monkeypatch: pytest.MonkeyPatch, x50_db: float = -9.0
) -> str:
    """Record a session and let a simulated machine copy it; return its id."""
    session = record_session(store, kind, SimulatedTrainee(seed=2, x50_db=-5.0))
    recogniser = copy_without_sound(monkeypatch, x50_db=x50_db)
    list(copy_items(store, items_to_copy(store, recogniser), recogniser))
    return session


def test_a_measurement_is_compared_with_the_machine(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        kind = Measurement.from_plan(PLAN, store)
        session = record_and_copy(store, kind, monkeypatch)
        (passage,) = machine_blocks(kind, session, store.attempts(session), store)
        assert machine_blocks(kind, session, [], store) == []
    assert passage.title == "The same calls, copied by a machine"
    sentence, *_, note = passage.sentences
    assert sentence.startswith("The recogniser silent 1 was given the same 24 calls: it copied ")
    assert "of 24, you copied " in sentence
    assert "it differs from yours by -" in sentence
    assert note == MACHINE_NOTE
    assert "not human scores" in note


def test_a_machine_that_copies_nothing_gets_a_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        kind = Measurement.from_plan(PLAN, store)
        session = record_and_copy(store, kind, monkeypatch, x50_db=60.0)
        (passage,) = machine_blocks(kind, session, store.attempts(session), store)
    assert any(sentence.startswith("Note on the machine: ") for sentence in passage.sentences)


def test_a_comparison_shows_both_differences(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        kind = Comparison.from_plan(PLAN, "filter", ("2600", "1800"), store)
        session = record_and_copy(store, kind, monkeypatch)
        (passage,) = machine_blocks(kind, session, store.attempts(session), store)
    assert passage.table is not None
    assert passage.table.head == ("", "you", "machine")
    assert [row[0] for row in passage.table.rows] == ["2600", "1800"]
    assert all(all(row) for row in passage.table.rows)
    sentence = passage.sentences[0]
    assert sentence.startswith("1800 compared with 2600: x50 differs by ")
    assert " for you, and by " in sentence
    assert sentence.endswith(" for the recogniser silent 1 on the same items.")


def test_other_sessions_have_no_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        kind = Practice(plan=PLAN)
        session = record_and_copy(store, kind, monkeypatch)
        assert machine_blocks(kind, session, store.attempts(session), store) == []
