"""Long work in a thread: progress, cancelling, errors, one piece at a time."""

import threading
from collections.abc import Generator

import pytest

from drill.core.errors import UserError
from drill.web.background_work import BackgroundWork

WAIT_S = 60


class Steps:
    """Work of three steps, each of which waits until the test lets it continue."""

    def __init__(self, error: Exception | None = None) -> None:
        self.permission = threading.Semaphore(0)
        self.closed = threading.Event()
        self._error = error

    def run(self) -> Generator[int, None, None]:
        try:
            for number in (1, 2, 3):
                assert self.permission.acquire(timeout=WAIT_S)
                if self._error is not None and number == 2:
                    raise self._error
                yield number
        finally:
            self.closed.set()

    def allow(self, count: int = 1) -> None:
        for _ in range(count):
            self.permission.release()


def wait_until_ended(work: BackgroundWork, steps: Steps) -> None:
    assert steps.closed.wait(WAIT_S)
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and "_run" in thread.name:
            thread.join(WAIT_S)
    assert not work.progress()["running"]


def test_work_runs_to_its_end() -> None:
    work, steps = BackgroundWork(), Steps()
    assert not work.progress()["running"]
    assert work.start("set", 3, steps.run())
    assert work.progress() == {
        "running": True,
        "label": "set",
        "done": 0,
        "total": 3,
        "cancelled": False,
        "problem": "",
    }
    steps.allow(3)
    wait_until_ended(work, steps)
    assert work.progress()["done"] == 3


def test_only_one_piece_of_work_runs() -> None:
    work, steps, other = BackgroundWork(), Steps(), Steps()
    assert work.start("first", 3, steps.run())
    assert not work.start("second", 3, other.run())
    assert work.progress()["label"] == "first"
    steps.allow(3)
    wait_until_ended(work, steps)


def test_work_is_cancelled_between_two_steps() -> None:
    work, steps = BackgroundWork(), Steps()
    work.start("set", 3, steps.run())
    work.cancel()
    steps.allow()
    wait_until_ended(work, steps)
    assert (work.progress()["done"], work.progress()["cancelled"]) == (1, True)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
@pytest.mark.parametrize(
    ("error", "problem"),
    [
        (UserError("the disk is full"), "the disk is full"),
        (ZeroDivisionError(), "the work ended because of an internal error"),
    ],
)
def test_an_error_ends_the_work_and_is_its_problem(error: Exception, problem: str) -> None:
    work, steps = BackgroundWork(), Steps(error)
    work.start("set", 3, steps.run())
    steps.allow(3)
    wait_until_ended(work, steps)
    assert (work.progress()["done"], work.progress()["problem"]) == (1, problem)
