"""Copies of recognisers in the record."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from drill.items.machine_copy import MachineCopy
from drill.records.store import Store
from tests.drill.records.attempts import NOW, PLAN, record_session


def make_copy(
    recogniser: str = "own 1", typed: str = "E8ABC", *, right: bool = True
) -> MachineCopy:
    return MachineCopy(recogniser=recogniser, typed=typed, right=right)


@pytest.fixture
def store(record_path: Path) -> Iterator[Store]:
    with Store(record_path) as opened:
        yield opened


@pytest.fixture
def session(store: Store) -> str:
    return record_session(store, PLAN, ["right", "right", None], now=NOW, mode="measuring")


def test_copies_are_kept_by_the_number_of_their_item(store: Store, session: str) -> None:
    assert store.newest_machine() == ""
    assert store.machine_copies(session, "own 1") == {}
    store.add_machine_copy(session, 2, make_copy(typed="", right=False))
    store.add_machine_copy(session, 0, make_copy())
    assert store.machine_copies(session, "own 1") == {
        0: make_copy(),
        2: make_copy(typed="", right=False),
    }
    assert store.machine_copies("another", "own 1") == {}


def test_a_newer_recogniser_replaces_the_copy_of_an_item(store: Store, session: str) -> None:
    store.add_machine_copy(session, 0, make_copy())
    store.add_machine_copy(session, 1, make_copy())
    made = store.machine_copies_made()
    store.add_machine_copy(session, 0, make_copy("own 2"))
    assert store.machine_copies_made() > made
    assert store.newest_machine() == "own 2"
    assert list(store.machine_copies(session, "own 1")) == [1]
    assert list(store.machine_copies(session, "own 2")) == [0]


def test_the_items_of_a_session_are_given_as_json(store: Store, session: str) -> None:
    items = store.answered_items(session)
    assert list(items) == [0, 1, 2]
    assert all(data.startswith("{") for data in items.values())


def test_copies_survive_the_end_of_the_program(record_path: Path) -> None:
    with Store(record_path) as store:
        identity = record_session(store, PLAN, ["right"], now=NOW, mode="measuring")
        store.add_machine_copy(identity, 0, make_copy())
    with Store(record_path) as store:
        assert store.machine_copies(identity, "own 1") == {0: make_copy()}
