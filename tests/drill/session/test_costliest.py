"""The costliest labels in the record of a trainee with a known weakness."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.items.plan import Plan
from drill.records.store import Store
from drill.session.costliest import MOST_NAMED, CostlyLabel, MissedExample, costliest_labels
from drill.session.costliest_wording import costly_mistake, costly_name, costly_sentence
from drill.session.kinds.practice import Practice
from tests.drill.simulated_trainee import SimulatedTrainee, record_session


@pytest.fixture
def store(home: Path) -> Iterator[Store]:
    with Store(record_file()) as opened:
        yield opened


def practise(store: Store, count: int, hard: dict[str, float] | None = None) -> None:
    plan = Plan(seed=3, count=count, mix="unassigned", voices=("birch",), alternates=0.0)
    record_session(store, Practice(plan=plan), SimulatedTrainee(x50_db=-2.0, hard=hard))


def test_a_short_record_gives_no_costliest_label(store: Store) -> None:
    assert costliest_labels(store) == ()
    practise(store, 12, hard={"E": 20.0})
    assert costliest_labels(store) == ()


def test_a_hard_label_is_named_with_an_example_that_was_missed(store: Store) -> None:
    practise(store, 150, hard={"E": 8.0})
    labels = costliest_labels(store)
    assert 1 <= len(labels) <= MOST_NAMED
    first = labels[0]
    assert first.label in ("E", "echo")
    assert 0 < first.low_db < first.cost_db < first.high_db
    assert first.n >= 30
    assert first.characters == "E"
    # The simulated trainee types one of twelve characters at random, so any may be the commonest.
    assert (first.typed in set("ABCDFGH1234")) == (first.kind == "character")
    attempt = store.attempts(first.example.session)[first.example.number]
    assert attempt.item.message.words[first.example.word].say == "echo"
    assert not attempt.right
    assert len([label for label in labels if label.label in ("E", "echo")]) == 1


EXAMPLE = MissedExample(session="s", number=0, word=0)


@pytest.mark.parametrize(
    ("kind", "label", "name"),
    [
        ("character", "9", "9 (nine)"),
        ("character", "N", "N (november)"),
        ("character", "/", "/ (/)"),
        ("word", "norway", "the word 'norway'"),
        ("style", "letters, other word", "letters, other word"),
    ],
)
def test_a_label_is_named_and_its_cost_has_interval_and_n(kind: str, label: str, name: str) -> None:
    costly = CostlyLabel(
        kind=kind,
        label=label,
        characters="",
        cost_db=3.14,
        low_db=1.4,
        high_db=4.9,
        n=31,
        typed="5" if kind == "character" else "",
        example=EXAMPLE,
    )
    assert costly_name(costly) == name
    assert costly_mistake(costly) == ("most often typed as 5 (five)" if kind == "character" else "")
    assert costly_sentence(costly) == "3.1 dB more than the average (95 %: 1.4 to 4.9), n 31"
