"""What the start page shows of the record."""

from collections.abc import Iterator
from datetime import timedelta

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from drill.report.lately import NEVER, lately, when_last
from drill.session.kinds.measurement import Measurement
from tests.drill.report.sample_record import make_plan
from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session


@pytest.fixture
def store(home: object) -> Iterator[Store]:
    with Store(record_file()) as opened:
        yield opened


def test_an_empty_record_shows_nothing(store: Store) -> None:
    shown = lately(store, now=START)
    assert (shown.headline, shown.picture) == (None, None)
    assert {shown.measured, shown.spoken, shown.contacts, shown.hunted} == {NEVER}


def test_the_first_block_gives_a_sentence_and_the_second_a_picture(store: Store) -> None:
    for day, blocks in ((0, 1), (7, 2)):
        kind = Measurement.from_plan(make_plan(day), store)
        record_session(store, kind, SimulatedTrainee(day), day=day)
        shown = lately(store, now=START + timedelta(days=9))
        assert shown.headline is not None
        assert f"{blocks} measurement block" in shown.headline.note
        assert (shown.picture is None) == (blocks == 1)
    assert shown.measured == "Last: 2 days ago."
    assert shown.picture is not None and shown.headline is not None
    figure = f"{shown.picture.points[-1].interval.value:+.1f} dB"
    assert shown.headline.figure == figure


@pytest.mark.parametrize(
    ("hours", "says"),
    [(1, "Last: today."), (20, "Last: yesterday."), (24 * 21, "Last: 21 days ago.")],
)
def test_days_are_counted_by_the_calendar(hours: float, says: str) -> None:
    """START is at nine in the morning."""
    assert when_last(START - timedelta(hours=hours), now=START) == says
