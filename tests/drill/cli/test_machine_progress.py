"""The recogniser copies the trainee's items in the terminal."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from drill.cli.machine_progress import copy_by_machine
from drill.core.errors import NoVoice
from drill.core.models import Item
from drill.items.machine_copy import MachineCopy
from drill.items.plan import Plan
from drill.recogniser import Recogniser
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from drill.session.machine import items_to_copy
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import record_session

PLAN = Plan(seed=3, count=20, mix="unassigned", voices=("tin", "wren"))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "record.sqlite3") as opened:
        record_session(opened, Measurement.from_plan(PLAN, opened))
        yield opened


def test_everything_is_copied(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    copy_by_machine(store)
    assert items_to_copy(store, recogniser) == []
    assert capsys.readouterr().out == ""


def test_an_interruption_keeps_what_is_copied(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    calls = iter(range(100))

    def interrupted(item: Item, given: Recogniser) -> MachineCopy:
        if next(calls) == 7:
            raise KeyboardInterrupt
        return MachineCopy(recogniser="silent 1", typed="", right=False)

    monkeypatch.setattr("drill.session.machine.copy_item", interrupted)
    copy_by_machine(store)
    assert "its copies so far are saved" in capsys.readouterr().out
    assert len(items_to_copy(store, recogniser)) == 25 - 7


def test_missing_voices_are_counted(
    store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    copy_without_sound(monkeypatch)

    def without_voice(item: Item, given: Recogniser) -> MachineCopy:
        raise NoVoice("no voice")

    monkeypatch.setattr("drill.session.machine.copy_item", without_voice)
    copy_by_machine(store)
    assert capsys.readouterr().out == (
        "The recogniser left out 25 items, because the voice is not installed here.\n"
    )
