"""Prefetching: in another process, into the cache, with a limited queue, and no process remains."""

import os
import queue
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Future, wait
from dataclasses import replace
from pathlib import Path
from threading import Event

import pytest

from drill.core.errors import NoVoice
from drill.core.paths import cache_folder
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
from drill.items.prefetch import Prefetcher, ShuttingDown, wait_for_prefetch

PLAN = Plan(seed=77, count=20, mix="unassigned", voices=("tin",))
ITEM = compose_item(PLAN, 0)
ROOT = Path(__file__).parents[3]


@pytest.fixture
def prefetcher() -> Iterator[Prefetcher]:
    prefetcher = Prefetcher(max_queued=4)
    yield prefetcher
    prefetcher.close()


def has_exited(process_id: int) -> bool:
    """Return True once a process has exited; wait for it up to 60 s."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            os.kill(process_id, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


def test_the_speech_is_in_the_cache_when_the_future_finishes(
    home: Path, prefetcher: Prefetcher
) -> None:
    assert not cache_folder().exists()
    prefetcher.submit(ITEM).result(timeout=60)
    assert any(path.is_file() for path in cache_folder().rglob("*"))


def test_a_failed_item_is_reported_and_the_next_one_succeeds(
    home: Path, prefetcher: Prefetcher
) -> None:
    lost = replace(ITEM, operator=replace(ITEM.operator, engine="brass"))
    with pytest.raises(NoVoice, match="'brass'"):
        prefetcher.submit(lost).result(timeout=60)
    prefetcher.submit(ITEM).result(timeout=60)


def test_the_queue_is_bounded_and_a_cancelled_item_frees_its_place(
    home: Path, prefetcher: Prefetcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prefetcher, "_serve", lambda: None)  # no item leaves the queue
    futures = [prefetcher.submit(ITEM) for _ in range(4)]
    with pytest.raises(queue.Full):
        prefetcher.submit(ITEM)
    assert futures[1].cancel()
    prefetcher.submit(ITEM)
    with pytest.raises(queue.Full):
        prefetcher.submit(ITEM)
    prefetcher.close()
    assert all(future.cancelled() for future in futures)


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_killed_worker_is_replaced(home: Path, prefetcher: Prefetcher) -> None:
    prefetcher.submit(ITEM).result(timeout=60)
    first = prefetcher.process_id
    assert first
    os.kill(first, signal.SIGKILL)
    futures = [prefetcher.submit(compose_item(PLAN, number)) for number in (1, 2, 3)]
    done, _ = wait(futures, timeout=60)
    assert len(done) == 3
    assert not futures[-1].exception()  # only the job of the killed worker is lost
    assert prefetcher.process_id != first


class TestWaiting:
    def test_a_queued_item_is_cancelled(self) -> None:
        future: Future[None] = Future()
        wait_for_prefetch(future, patient=False)
        assert future.cancelled()

    def test_an_item_that_takes_too_long_is_not_waited_for(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(prefetch, "MAX_WAIT_S", 0.01)
        future: Future[None] = Future()
        future.set_running_or_notify_cancel()
        wait_for_prefetch(future, patient=False)
        assert not future.done()

    def test_a_patient_caller_waits_until_the_item_succeeds_or_fails(self) -> None:
        future: Future[None] = Future()
        future.set_running_or_notify_cancel()
        future.set_exception(NoVoice("lost"))
        wait_for_prefetch(future, patient=True)

    @pytest.mark.parametrize("patient", [True, False])
    def test_waiting_ends_with_an_error_while_the_program_exits(
        self, patient: bool, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        shutting_down = Event()
        shutting_down.set()
        monkeypatch.setattr(prefetch, "_shutting_down", shutting_down)
        future: Future[None] = Future()
        future.set_running_or_notify_cancel()
        future.set_result(None)
        with pytest.raises(ShuttingDown):
            wait_for_prefetch(future, patient=patient)


SCRIPT = """
import signal
import time
from drill.items import prefetch
from drill.items.plan import Plan, compose_item
if __name__ == '__main__':
    # A background job, as the test suite may be, passes SIGINT on as ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    plan = Plan(seed=78, count=9, mix='unassigned', voices=('tin',))
    prefetch.prefetch_item(compose_item(plan, 0)).result()
    print(prefetch.shared_prefetcher().process_id, flush=True)
    for number in range(1, 9):
        prefetch.prefetch_item(compose_item(plan, number))
    {then}
"""


def start_parent(home: Path, then: str) -> "subprocess.Popen[str]":
    """Start a program that prefetches; it prints the id of its worker, then runs `then`."""
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
class TestExit:
    def test_the_worker_exits_if_its_parent_is_killed(self, home: Path) -> None:
        with start_parent(home, "time.sleep(60)") as process:
            assert process.stdout
            worker = int(process.stdout.readline())
            os.kill(worker, 0)  # raises OSError if the worker does not run
            process.kill()
            process.wait()
        assert has_exited(worker)

    def test_the_parent_exits_silently_during_synthesis(self, home: Path) -> None:
        with start_parent(home, "pass") as process:
            out, err = process.communicate(timeout=60)
        assert (process.returncode, err) == (0, "")
        assert has_exited(int(out))

    def test_ctrl_c_reaches_only_the_parent(self, home: Path) -> None:
        """The terminal sends it to the whole process group; the worker neither stops nor prints."""
        with start_parent(home, "time.sleep(60)") as process:
            assert process.stdout
            worker = int(process.stdout.readline())
            os.killpg(process.pid, signal.SIGINT)
            _, err = process.communicate(timeout=60)
        assert err.count("Traceback") == 1
        assert err.rstrip().endswith("KeyboardInterrupt")
        assert has_exited(worker)
