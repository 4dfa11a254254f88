"""What is spoken ahead: by another process, into the cache, bounded, and nothing is left behind."""

import os
import queue
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Future, wait
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drill.core.errors import NoVoice
from drill.core.models import Answer, Item
from drill.core.paths import cache_folder, record_file
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
from drill.items.prefetch import Prefetcher
from drill.records.store import Store
from drill.session.courses import Practising
from drill.session.session import Practice

PLAN = Plan(seed=77, count=20, mix="unassigned", voices=("tin",))
ITEM = compose_item(PLAN, 0)
ROOT = Path(__file__).parents[3]
NOW = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.fixture
def own() -> Iterator[Prefetcher]:
    one = Prefetcher(max_queued=4)
    yield one
    one.close()


class Never:
    """A queue whose process never comes to anything, to see what is asked of it."""

    def __init__(self) -> None:
        self.asked: list[Item] = []

    def submit(self, item: Item) -> "Future[None]":
        self.asked.append(item)
        return Future()


def gone(process: int) -> bool:
    """Return True once a process has ended; it is given 20 s."""
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


def test_speech_is_in_the_cache_when_it_says_so(home: Path, own: Prefetcher) -> None:
    assert not cache_folder().exists()
    own.submit(ITEM).result(timeout=60)
    assert any(path.is_file() for path in cache_folder().rglob("*"))


def test_trouble_is_told_and_the_next_item_is_spoken(home: Path, own: Prefetcher) -> None:
    from dataclasses import replace

    lost = replace(ITEM, operator=replace(ITEM.operator, engine="brass"))
    with pytest.raises(NoVoice, match="'brass'"):
        own.submit(lost).result(timeout=60)
    own.submit(ITEM).result(timeout=60)


def test_no_more_wait_than_may(home: Path, own: Prefetcher, monkeypatch: pytest.MonkeyPatch) -> None:
    """One is being spoken, four wait; a cancelled one makes room."""
    monkeypatch.setattr(own, "_serve", lambda: None)  # nobody takes anything
    waiting = [own.submit(ITEM) for _ in range(4)]
    with pytest.raises(queue.Full):
        own.submit(ITEM)
    assert waiting[1].cancel()
    own.submit(ITEM)
    with pytest.raises(queue.Full):
        own.submit(ITEM)
    own.close()
    assert all(future.cancelled() for future in waiting)


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_killed_worker_is_followed_by_another(home: Path, own: Prefetcher) -> None:
    own.submit(ITEM).result(timeout=60)
    first = own.process_id
    assert first
    os.kill(first, signal.SIGKILL)
    futures = [own.submit(compose_item(PLAN, number)) for number in (1, 2, 3)]
    done, _ = wait(futures, timeout=60)
    assert len(done) == 3
    assert not futures[-1].exception()  # only what the dead one held is lost
    assert own.process_id != first


def test_a_sitting_asks_for_three_ahead_and_no_more(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    never = Never()
    monkeypatch.setattr(prefetch, "shared_prefetcher", lambda: never)
    with Store(record_file()) as store:
        practice = Practice.begin(Practising(plan=PLAN), store, now=NOW)
        practice.present()
        assert never.asked == [compose_item(PLAN, number) for number in (1, 2, 3)]
        practice.present()
        assert len(never.asked) == 3
        practice.answer(Answer(typed="", seconds=0.0), now=NOW)
        practice.present()  # it has not begun there: it is spoken here
        assert never.asked == [compose_item(PLAN, number) for number in (1, 2, 3, 4)]
        left = list(practice._spoken.values())
        practice.close()
        assert len(left) == 3
        assert all(future.cancelled() for future in left)


def test_a_process_that_comes_to_nothing_is_not_waited_for(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy machine the one that gives way to everything else is starved."""

    class Starved(Never):
        def submit(self, item: Item) -> "Future[None]":
            future = super().submit(item)
            future.set_running_or_notify_cancel()
            return future

    monkeypatch.setattr(prefetch, "shared_prefetcher", Starved)
    monkeypatch.setattr(prefetch, "MAX_WAIT_S", 0.01)
    with Store(record_file()) as store:
        practice = Practice.begin(Practising(plan=PLAN), store, now=NOW)
        for number in range(2):
            assert practice.present()[0] == compose_item(PLAN, number)
            practice.answer(Answer(typed="", seconds=0.0), now=NOW)


def test_nothing_is_asked_for_after_the_last_item(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    never = Never()
    monkeypatch.setattr(prefetch, "shared_prefetcher", lambda: never)
    with Store(record_file()) as store:
        course = Practising(plan=replace(PLAN, count=2))
        practice = Practice.begin(course, store, now=NOW)
        practice.present()
        assert len(never.asked) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_sitting_goes_on_without_its_worker(
    home: Path, own: Prefetcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prefetch, "shared_prefetcher", lambda: own)
    with Store(record_file()) as store:
        practice = Practice.begin(Practising(plan=PLAN), store, now=NOW)
        for number in range(4):
            item, clip = practice.present()
            assert item == compose_item(PLAN, number)
            assert clip.seconds > 1
            process = own.process_id
            if process and number < 2:
                os.kill(process, signal.SIGKILL)
            practice.answer(Answer(typed="", seconds=0.0), now=NOW)
        practice.close()


SCRIPT = """
import time
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
if __name__ == '__main__':
    plan = Plan(seed=78, count=9, mix='unassigned', voices=('tin',))
    prefetch.prefetch_item(compose_item(plan, 0)).result()
    print(prefetch.shared_prefetcher().process_id, flush=True)
    for number in range(1, 9):
        prefetch.prefetch_item(compose_item(plan, number))
    {then}
"""


def parent(home: Path, then: str) -> "subprocess.Popen[str]":
    script = home.parent / "parent.py"
    script.write_text(SCRIPT.format(then=then), "utf-8")
    return subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        start_new_session=True,  # so that a signal to its group reaches the worker too
    )


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
class TestTheEnd:
    def test_a_kill_leaves_no_process_behind(self, home: Path) -> None:
        with parent(home, "time.sleep(60)") as process:
            assert process.stdout
            worker = int(process.stdout.readline())
            os.kill(worker, 0)  # it is there
            process.kill()
            process.wait()
        assert gone(worker)

    def test_leaving_does_not_wait_for_what_is_being_spoken(self, home: Path) -> None:
        """And says nothing on the way."""
        with parent(home, "pass") as process:
            out, err = process.communicate(timeout=60)
        assert (process.returncode, err) == (0, "")
        assert gone(int(out))

    def test_ctrl_c_is_the_parents_alone(self, home: Path) -> None:
        """The terminal sends it to the whole group; the worker neither dies of it nor talks."""
        with parent(home, "time.sleep(60)") as process:
            assert process.stdout
            worker = int(process.stdout.readline())
            os.killpg(process.pid, signal.SIGINT)
            _, err = process.communicate(timeout=60)
        assert err.count("Traceback") == 1
        assert err.rstrip().endswith("KeyboardInterrupt")
        assert gone(worker)
