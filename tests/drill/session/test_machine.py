"""The machine (a recogniser) that copies the trainee's items."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest

from drill.core.errors import NoVoice
from drill.core.models import Item
from drill.items.machine_copy import MachineCopy
from drill.items.plan import Plan
from drill.recogniser import Recogniser
from drill.records.store import Store
from drill.session.blocks import measurement_blocks
from drill.session.kinds.comparison import Comparison
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.machine import (
    MIN_SHARED_ITEMS,
    copy_items,
    items_to_copy,
    machine_comparison,
    machine_curve,
)
from tests.drill.machine_copies import copy_without_sound
from tests.drill.simulated_trainee import SimulatedTrainee, record_session

PLAN = Plan(seed=3, count=24, mix="unassigned", voices=("tin", "wren"))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "record.sqlite3") as opened:
        yield opened


def measure(store: Store, seed: int = 3, day: int = 0) -> str:
    """Record a measurement of 24 items that count and, if it is the first, 5 to warm up."""
    measurement = Measurement.from_plan(replace(PLAN, seed=seed), store)
    return record_session(store, measurement, SimulatedTrainee(seed=seed, x50_db=-5.0), day=day)


def test_items_of_measurements_and_comparisons_are_copied_newest_session_first(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    record_session(store, Practice(plan=PLAN), day=0)
    first = measure(store, day=1)
    overs = replace(PLAN, part="over", exchange="serial", count=2)
    record_session(store, Comparison.from_plan(overs, "filter", ("2600", "1800"), store), day=2)
    second = measure(store, seed=4, day=3)
    items = items_to_copy(store, recogniser)
    assert [entry.session for entry in items] == [second] * 24 + [first] * 29
    assert [entry.number for entry in items[24:]] == list(range(29))
    assert {entry.session for entry in items_to_copy(store, recogniser, session=first)} == {first}


def test_copying_continues_where_it_stopped_and_starts_anew_for_another_version(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    session = measure(store)
    copying = copy_items(store, items_to_copy(store, recogniser), recogniser)
    done = list(islice(copying, 10))
    assert sorted(store.machine_copies(session, "silent 1")) == list(range(10))
    left = items_to_copy(store, recogniser)
    assert [entry.number for entry in left] == list(range(10, 29))
    assert not set(left) & set(done)
    newer = copy_without_sound(monkeypatch, version="2")
    assert len(items_to_copy(store, newer)) == 29


def test_an_item_whose_voice_is_missing_is_left_out(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch)
    measure(store)

    def without_wren(item: Item, given: Recogniser) -> MachineCopy:
        if item.operator.name == "wren":
            raise NoVoice("no voice")
        return MachineCopy(recogniser="silent 1", typed="", right=False)

    monkeypatch.setattr("drill.session.machine.copy_item", without_wren)
    copied = list(copy_items(store, items_to_copy(store, recogniser), recogniser))
    assert None in copied
    assert len(items_to_copy(store, recogniser)) == copied.count(None)


def test_the_machine_has_a_curve_from_the_same_items(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The machine needs 4 dB less for a character, and gets all items except two."""
    recogniser = copy_without_sound(monkeypatch, x50_db=-9.0)
    for number in range(3):
        measure(store, seed=number, day=number)
    blocks = measurement_blocks(store)
    trainee = blocks[0].estimate()
    assert machine_curve(blocks, trainee, store) is None
    items = items_to_copy(store, recogniser)
    list(copy_items(store, items[:-2], recogniser))
    curve = machine_curve(blocks, trainee, store)
    assert curve is not None
    assert (curve.recogniser, curve.total) == ("silent 1", 72)
    assert len(curve.trials) == 70
    assert curve.estimate.n == 70
    assert curve.estimate.right == sum(trial.right for trial in curve.trials)
    assert 20 < curve.trainee_right < curve.estimate.right
    assert curve.difference.value < 0
    snrs = sorted(trial.snr_db for block in blocks for trial in block.trials)
    assert {trial.snr_db for trial in curve.trials} <= set(snrs)


def test_too_few_copies_give_no_curve(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    recogniser = copy_without_sound(monkeypatch)
    measure(store)
    blocks = measurement_blocks(store)
    # The five items to warm up do not count.
    items = items_to_copy(store, recogniser)[: MIN_SHARED_ITEMS + 4]
    list(copy_items(store, items, recogniser))
    assert machine_curve(blocks, blocks[0].estimate(), store) is None


def test_a_comparison_by_the_machine_needs_every_item(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    recogniser = copy_without_sound(monkeypatch, x50_db=-11.0)
    kind = Comparison.from_plan(PLAN, "filter", ("2600", "1800"), store)
    session = record_session(store, kind, SimulatedTrainee(seed=2, x50_db=-5.0))
    attempts = store.attempts(session)
    *most, last = items_to_copy(store, recogniser)
    list(copy_items(store, most, recogniser))
    assert machine_comparison(kind, session, attempts, store) is None
    list(copy_items(store, [last], recogniser))
    machine = machine_comparison(kind, session, attempts, store)
    assert machine is not None
    pairs = zip(machine.result.alternatives, kind.result(attempts).alternatives, strict=True)
    for by_machine, by_trainee in pairs:
        assert by_machine.label == by_trainee.label
        assert by_machine.estimate is not None
        assert by_trainee.estimate is not None
        assert by_machine.estimate.n == by_trainee.estimate.n == 24
        assert by_machine.estimate.right > by_trainee.estimate.right
