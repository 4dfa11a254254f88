"""A session goes on if its prefetching does not: a starved worker, a killed worker."""

import os
import signal
import sys
from collections.abc import Iterator
from concurrent.futures import Future
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.models import Answer, Item
from drill.core.paths import record_file
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
from drill.items.prefetch import Prefetcher
from drill.records.store import Store
from drill.session.kinds.practice import Practice
from drill.session.session import Session

PLAN = Plan(seed=77, count=20, mix="unassigned", voices=("tin",))
NOW = datetime(2026, 1, 1, tzinfo=UTC)


def test_a_worker_that_does_not_finish_is_not_waited_for(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy machine the low-priority worker hardly runs."""

    def begin_and_never_finish(item: Item) -> "Future[None]":
        future: Future[None] = Future()
        future.set_running_or_notify_cancel()
        return future

    monkeypatch.setattr(prefetch, "prefetch_item", begin_and_never_finish)
    monkeypatch.setattr(prefetch, "MAX_WAIT_S", 0.01)
    with Store(record_file()) as store:
        session = Session.begin(Practice(plan=PLAN), store, now=NOW)
        for number in range(2):
            assert session.present()[0] == compose_item(PLAN, number)
            session.answer(Answer(typed="", seconds=0.0), now=NOW)


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
        session = Session.begin(Practice(plan=PLAN), store, now=NOW)
        for number in range(4):
            item, clip = session.present()
            assert item == compose_item(PLAN, number)
            assert clip.seconds > 1
            process = prefetcher.process_id
            if process and number < 2:
                os.kill(process, signal.SIGKILL)
            session.answer(Answer(typed="", seconds=0.0), now=NOW)
        session.close()
