"""The comparisons of a report."""

from dataclasses import replace
from pathlib import Path

import pytest

from drill.records.store import Store
from drill.report.comparisons import (
    MAX_COMPARISONS,
    comparison_sections,
    finished_comparisons,
)
from drill.session.kinds.comparison import Comparison
from drill.session.machine import copy_items, items_to_copy
from tests.drill.machine_copies import copy_without_sound
from tests.drill.report.sample_record import make_plan
from tests.drill.simulated_trainee import SimulatedTrainee, record_session


def compare(store: Store, day: int, *, part: str = "call", most: int = 1000) -> None:
    """Record a comparison of two filters. most: number of items after which it stops."""
    plan = replace(make_plan(day, count=6), part=part, exchange="serial")
    kind = Comparison.from_plan(plan, "filter", ("2600", "1800"), store)
    record_session(store, kind, SimulatedTrainee(seed=day, x50_db=-5.0), day=day, most=most)


def test_the_newest_finished_comparisons_are_reported(tmp_path: Path) -> None:
    with Store(tmp_path / "record.sqlite3") as store:
        for day in range(MAX_COMPARISONS + 1):
            compare(store, day)
        compare(store, 20, most=4)
        comparisons = list(finished_comparisons(store))
    assert [comparison.started.day for comparison in comparisons] == [6, 5, 4, 3, 2]
    first, *_ = comparison_sections(comparisons)
    assert first.name == "comparison-1"
    assert first.heading.startswith("Comparison of 2026-03-06 ")
    assert first.heading.endswith(": 2600, 1800")
    (sentence,) = first.sentences
    assert sentence.startswith("1800 compared with 2600: x50 differs by ")
    assert sentence.endswith(" for you.")
    assert first.table is not None
    assert [row[2] for row in first.table.rows] == ["", ""]


def test_a_comparison_also_shows_the_machines_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    with Store(tmp_path / "record.sqlite3") as store:
        compare(store, 1)
        compare(store, 2, part="over")
        list(copy_items(store, items_to_copy(store, recogniser), recogniser))
        overs, calls = finished_comparisons(store)
    assert (overs.consists_of_calls, overs.machine) == (False, None)
    assert calls.consists_of_calls
    _, section = comparison_sections([overs, calls])
    assert "for the recogniser silent 1 on the same items." in section.sentences[0]
    assert "not human scores" in section.sentences[-1]
    assert section.table is not None
    assert all(row[2] for row in section.table.rows)
