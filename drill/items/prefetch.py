"""Has what comes next spoken ahead, in a process of its own that gives way to everything else.

The speech lands in the cache on the disk, where the sitting finds it. So the sound that plays is
never disturbed by the synthesis of the next, and what is asked for in time is there in time. A few
items may wait, so that a slow voice catches up while the trainee thinks. Where no process can be
started, or it dies, nothing is spoken ahead, and the sitting does it itself.
"""

import atexit
import multiprocessing
import os
import queue
import signal
import threading
from collections import deque
from concurrent.futures import Future, wait
from contextlib import suppress
from functools import lru_cache
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from drill import voices
from drill.core.errors import FaintcallError, NoVoice, ResourceUnavailable
from drill.core.models import Item
from drill.items.render import prepare
from drill.voices.people.roster import ROSTER
from phonetics.message import Word

HOME = "FAINTCALL_HOME"
NICE = 10
DEPTH = 3
"""How many items after the present one a sitting has spoken ahead."""
PATIENCE_S = 1.0
"""How long an item is waited for that is being spoken ahead: on a busy machine the process that
gives way comes to nothing, and it is quicker to do the work twice."""
MOST = 12
"""How many wait at most, whoever asks: several windows can have a sitting each."""

Job = tuple[Item | None, str | None]
"""What is to be spoken, None: only the voices got ready; and the home that the speech is for."""
_stopped = threading.Event()
WARM = Word(say="alfa", means="A")


class Stopping(ResourceUnavailable):
    """The program ends: what is asked for now is not made any more."""


class Ahead:
    """A queue of items and the one process that speaks them, started at the first and ever anew."""

    def __init__(self, most: int = MOST) -> None:
        """Start nothing yet; most: how many items may wait."""
        self._most = most
        self._waiting: deque[tuple[Future[None], Job]] = deque()
        self._change = threading.Condition()
        self._thread: threading.Thread | None = None
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    @property
    def process_id(self) -> int | None:
        """Return the number of the process, None where there is none."""
        return self._process.pid if self._process else None

    def speak(self, item: Item | None) -> "Future[None]":
        """Have an item spoken into the cache; the future tells when, or why not.

        None: have the voices got ready.

        A future that is cancelled gives up its place. Raises: queue.Full where too many wait.
        """
        future: Future[None] = Future()
        with self._change:
            self._waiting = deque(each for each in self._waiting if not each[0].cancelled())
            if len(self._waiting) >= self._most:
                raise queue.Full
            self._waiting.append((future, (item, os.environ.get(HOME))))
            if self._thread is None:
                self._thread = threading.Thread(target=self._serve, name="ahead", daemon=True)
                self._thread.start()
            self._change.notify()
        return future

    def close(self) -> None:
        """Cancel what waits and end the process, in the middle of a word too."""
        with self._change:
            for future, _ in self._waiting:
                future.cancel()
                future.set_running_or_notify_cancel()  # wakes whoever waits for it
            self._waiting.clear()
        if self._process:
            with suppress(OSError, ValueError, AttributeError):
                self._process.terminate()

    def _serve(self) -> None:
        while True:
            with self._change:
                while not self._waiting:
                    self._change.wait()
                future, job = self._waiting.popleft()
            if not future.set_running_or_notify_cancel():
                continue
            try:
                trouble = self._ordered(job)
            except (OSError, EOFError, RuntimeError) as error:  # it cannot start, or was killed
                self._drop()
                trouble = NoVoice(f"the process that speaks ahead failed: {error!r}")
            if trouble is None:
                future.set_result(None)
            else:
                future.set_exception(trouble)

    def _ordered(self, job: Job) -> Exception | None:
        """Have the process do a job; return what went wrong there."""
        if self._pipe is None:
            self._start()
        assert self._pipe
        self._pipe.send(job)
        answer: Exception | None = self._pipe.recv()
        return answer

    def _start(self) -> None:
        # spawn: forking a process that runs the sound's and the voices' threads is not safe
        context = multiprocessing.get_context("spawn")
        self._pipe, far = context.Pipe()
        # daemon: it is ended when this process leaves, in the middle of a word too
        self._process = context.Process(target=_work, args=(far,), daemon=True)
        with _quiet():
            self._process.start()
        far.close()

    def _drop(self) -> None:
        """Forget a process that is of no use any more."""
        if self._pipe:
            self._pipe.close()
        if self._process:
            with suppress(OSError, ValueError, AttributeError):
                self._process.kill()
        self._pipe = self._process = None


class _quiet:  # noqa: N801
    """Starts of a process inside have Ctrl-C held back until they can leave it to their parent."""

    def __enter__(self) -> None:
        if hasattr(signal, "pthread_sigmask"):
            self._before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})

    def __exit__(self, *_: object) -> None:
        if hasattr(signal, "pthread_sigmask"):
            signal.pthread_sigmask(signal.SIG_SETMASK, self._before)


def _work(pipe: Connection) -> None:
    """Speak what comes through the pipe; the process's whole life."""
    _give_way()
    while True:
        try:
            item, home = pipe.recv()
        except (EOFError, OSError):
            return
        if home is None:
            os.environ.pop(HOME, None)
        else:
            os.environ[HOME] = home
        try:
            if item is None:
                _warm()
            else:
                prepare(item)
            pipe.send(None)
        except Exception as error:  # told to whoever waits; the next item may do better
            pipe.send(NoVoice(str(error)))


def _give_way() -> None:
    """Lower the priority; leave Ctrl-C to the process that was asked to stop."""
    end_with_parent()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(NICE)


def end_with_parent() -> None:
    """Have this worker process end when the process that started it does, even if it is killed."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@lru_cache(maxsize=1)
def queue_here() -> Ahead:
    """Return the queue of this process; it ends with it."""
    here = Ahead()
    atexit.register(here.close)
    return here


def _warm() -> None:
    for one in {one.engine: one for one in ROSTER}.values():
        with suppress(FaintcallError):
            voices.find_engine(one.engine).synthesise((WARM,), one, 0)


def warm() -> "Future[None]":
    """Start the worker and its voices, so that the first item does not wait for that."""
    return queue_here().speak(None)


def stop() -> None:
    """End the worker at once, whatever it is at: the cache holds whole overs or none."""
    _stopped.set()
    queue_here().close()


def spoken(one: "Future[None]", *, patient: bool) -> None:
    """Return when this has been spoken into the cache, went wrong, or is better done here.

    patient: waits however long it takes. Else what has not begun there is given up, and what has is
    waited for PATIENCE_S. Raises: Stopping where the program ends, so that nobody begins to speak
    himself.
    """
    if patient:
        wait([one])
    elif not one.cancel():  # what has begun there ends there
        wait([one], PATIENCE_S)
    if _stopped.is_set():
        raise Stopping("the program is being stopped")


def speak(item: Item) -> "Future[None]":
    """Have an item spoken into the cache; the future tells when, or why not.

    Raises: queue.Full where too many wait.
    """
    return queue_here().speak(item)
