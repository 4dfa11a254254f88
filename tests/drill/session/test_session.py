"""A running session: its items, its answers in the record, and its prefetching."""

import os
import signal
import sys
from collections.abc import Iterator
from concurrent.futures import Future
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill import __version__
from drill.core.errors import AlreadyAnswered
from drill.core.models import Answer, Item
from drill.core.paths import record_file
from drill.items import prefetch
from drill.items.plan import compose_item
from drill.items.prefetch import Prefetcher
from drill.items.render import render
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from drill.session.kinds.quick_check import QuickCheck
from drill.session.recorded import recorded_kind
from drill.session.session import Session
from tests.drill.session.example_kinds import PLAN

NOW = datetime(2026, 1, 1, tzinfo=UTC)
SHORT = replace(PLAN, count=2, voices=("tin",))
LONG = replace(SHORT, count=20)
NOTHING = Answer(typed="", seconds=0.0, gave_up=True)


@pytest.fixture
def requested(monkeypatch: pytest.MonkeyPatch) -> list[Item]:
    """Replace prefetching by a list of the items that are requested; none is ever synthesised."""
    items: list[Item] = []

    def prefetch_item(item: Item) -> "Future[None]":
        items.append(item)
        return Future()

    monkeypatch.setattr(prefetch, "prefetch_item", prefetch_item)
    return items


def right_answer(session: Session) -> Answer:
    return Answer(typed=session.item().message.fields[0].text, seconds=1.0)


def test_a_session_begins_and_ends_in_the_record(home: Path, requested: list[Item]) -> None:
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=SHORT), store, now=NOW)
        assert (session.number, session.finished) == (0, False)
        attempt = session.answer(right_answer(session), now=NOW)
        assert attempt.right
        assert (attempt.version, attempt.answered_at) == (__version__, NOW.isoformat())
        session.answer(NOTHING, now=NOW)
        assert (session.number, session.finished) == (2, True)
        assert session.standing.startswith("1 of 2 right on first hearing")
        assert store.attempts(session.identity) == session.attempts
        record = store.session(session.identity)
        assert record is not None
        assert recorded_kind(record) == session.kind


def test_another_session_on_the_same_record_cannot_answer_twice(
    home: Path, requested: list[Item]
) -> None:
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=SHORT), store, now=NOW)
        other = Session(session.kind, store, identity=session.identity)
        session.answer(right_answer(session), now=NOW)
        with pytest.raises(AlreadyAnswered):
            other.answer(NOTHING, now=NOW)
        assert [attempt.right for attempt in store.attempts(session.identity)] == [True]


def test_the_present_item_is_rendered_once(
    home: Path, requested: list[Item], monkeypatch: pytest.MonkeyPatch
) -> None:
    rendered: list[Item] = []

    def count(item: Item) -> object:
        rendered.append(item)
        return render(item)

    monkeypatch.setattr("drill.session.session.render", count)
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=SHORT), store, now=NOW)
        item, clip = session.present()
        assert session.present() == (item, clip)
        assert session.item() == item == compose_item(SHORT, 0)
    assert rendered == [item]


def test_an_item_is_prefetched_once_and_none_after_the_last(
    home: Path, requested: list[Item]
) -> None:
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=SHORT), store, now=NOW)
        for number in (0, 1, 1, 2, 3):
            session.prefetch(number)
        assert requested == [compose_item(SHORT, 0), compose_item(SHORT, 1)]
        session.close()
        assert all(future.cancelled() for future in session._prefetched.values())


def test_a_session_has_a_result_only_at_its_end(home: Path, requested: list[Item]) -> None:
    with Store(record_file()) as store:
        session = Session.begin(QuickCheck(plan=SHORT), store, now=NOW)
        session.answer(NOTHING, now=NOW)
        assert session.result_blocks() == []
        session.answer(NOTHING, now=NOW)
        assert [block.title for block in session.result_blocks()] == ["This check"]
        practice = Session.begin(Practice(plan=replace(SHORT, count=1)), store, now=NOW)
        practice.answer(NOTHING, now=NOW)
        assert practice.result_blocks() == []


def test_the_next_item_is_synthesised_while_the_present_one_is_answered(home: Path) -> None:
    """Uses the real worker process."""
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=replace(SHORT, count=3)), store, now=NOW)
        session.present()
        session._prefetched[1].result(timeout=60)
        session.answer(NOTHING, now=NOW)
        assert session.present()[0] == compose_item(session.kind.plan, 1)
        session.close()


def test_a_worker_that_does_not_finish_is_not_waited_for(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy machine the low-priority worker hardly gets CPU time."""

    def begin_and_never_finish(item: Item) -> "Future[None]":
        future: Future[None] = Future()
        future.set_running_or_notify_cancel()
        return future

    monkeypatch.setattr(prefetch, "prefetch_item", begin_and_never_finish)
    monkeypatch.setattr(prefetch, "MAX_WAIT_S", 0.01)
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=LONG), store, now=NOW)
        for number in range(2):
            assert session.present()[0] == compose_item(LONG, number)
            session.answer(NOTHING, now=NOW)


@pytest.fixture
def prefetcher() -> Iterator[Prefetcher]:
    prefetcher = Prefetcher(max_queued=4)
    yield prefetcher
    prefetcher.close()


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_session_continues_when_its_worker_is_killed(
    home: Path, prefetcher: Prefetcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prefetch, "shared_prefetcher", lambda: prefetcher)
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=LONG), store, now=NOW)
        for number in range(4):
            item, clip = session.present()
            assert item == compose_item(LONG, number)
            assert clip.seconds > 1
            process = prefetcher.process_id
            if process and number < 2:
                os.kill(process, signal.SIGKILL)
            session.answer(NOTHING, now=NOW)
        session.close()
