"""Prefetching: another process synthesises the speech of coming items, at low priority.

The speech goes into the cache on disk, where rendering finds it. Synthesis therefore never disturbs
the audio that is playing, and an item requested early enough is ready in time. Several items may be
queued, so that a slow voice catches up while the trainee thinks. If the process cannot start or
dies, nothing is prefetched and rendering synthesises the speech itself.
"""

import atexit
import multiprocessing
import os
import queue
import threading
from collections import deque
from concurrent.futures import Future, wait
from contextlib import suppress
from functools import lru_cache
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from drill.core.errors import NoVoice, ResourceUnavailable
from drill.core.models import Item
from drill.core.paths import HOME_VARIABLE
from drill.items.prefetch_worker import (
    NICENESS,
    Job,
    SpeechRequest,
    run_worker,
    sigint_blocked,
)

PREFETCH_DEPTH = 3
"""Number of items after the current one that a session prefetches."""
MAX_WAIT_S = 1.0
"""Longest wait for an item that is being prefetched. On a busy machine the low-priority process
hardly runs, and it is faster to synthesise the item again in the main process."""
MAX_QUEUED = 12
"""Largest number of items in the queue, which the sessions of several browser windows share."""

_shutting_down = threading.Event()


class ShuttingDown(ResourceUnavailable):
    """The program is exiting and no longer renders items."""


class Prefetcher:
    """A queue of items and the one worker process that synthesises them.

    The process is started by the first item, and restarted if it has died.
    """

    def __init__(self, max_queued: int = MAX_QUEUED, *, niceness: int = NICENESS) -> None:
        """Start no process yet.

        max_queued: items that may wait. niceness: of the process, on systems that have one.
        """
        self._max_queued, self._niceness = max_queued, niceness
        self._queue: deque[tuple[Future[None], Job]] = deque()
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    @property
    def process_id(self) -> int | None:
        """Process id of the worker, None if no worker is running."""
        return self._process.pid if self._process else None

    def submit(self, item: Item | SpeechRequest | None) -> "Future[None]":
        """Queue an item or an over for synthesis into the cache; None only starts the engines.

        Return a future that finishes when the speech is in the cache, or with NoVoice. Cancelling
        it frees its place in the queue. Raises: queue.Full if max_queued items wait already.
        """
        future: Future[None] = Future()
        with self._changed:
            self._queue = deque(entry for entry in self._queue if not entry[0].cancelled())
            if len(self._queue) >= self._max_queued:
                raise queue.Full
            self._queue.append((future, (item, os.environ.get(HOME_VARIABLE))))
            if self._thread is None:
                self._thread = threading.Thread(target=self._serve, name="prefetch", daemon=True)
                self._thread.start()
            self._changed.notify()
        return future

    def close(self) -> None:
        """Cancel what is queued and end the process at once, even during synthesis."""
        with self._changed:
            for future, _ in self._queue:
                future.cancel()
                future.set_running_or_notify_cancel()  # wakes threads that wait for it
            self._queue.clear()
        if self._process:
            with suppress(OSError, ValueError, AttributeError):
                self._process.terminate()

    def _serve(self) -> None:
        while True:
            with self._changed:
                while not self._queue:
                    self._changed.wait()
                future, job = self._queue.popleft()
            if not future.set_running_or_notify_cancel():
                continue
            try:
                error = self._run_job(job)
            except (OSError, EOFError, RuntimeError) as failure:
                # The process cannot start, or was killed.
                self._discard_process()
                error = NoVoice(f"the prefetching process failed: {failure!r}")
            if error is None:
                future.set_result(None)
            else:
                future.set_exception(error)

    def _run_job(self, job: Job) -> Exception | None:
        """Run a job in the worker process; return the error that it ended with."""
        if self._pipe is None:
            self._start_process()
        assert self._pipe
        self._pipe.send(job)
        error: Exception | None = self._pipe.recv()
        return error

    def _start_process(self) -> None:
        # spawn: forking a process that runs threads of audio and speech libraries is not safe
        context = multiprocessing.get_context("spawn")
        self._pipe, worker_end = context.Pipe()
        # daemon: the interpreter terminates it at exit, even during synthesis
        self._process = context.Process(
            target=run_worker, args=(worker_end, self._niceness), daemon=True
        )
        with sigint_blocked():
            self._process.start()
        worker_end.close()

    def _discard_process(self) -> None:
        """Kill a worker that no longer answers; the next job starts another."""
        if self._pipe:
            self._pipe.close()
        if self._process:
            with suppress(OSError, ValueError, AttributeError):
                self._process.kill()
        self._pipe = self._process = None


@lru_cache(maxsize=1)
def shared_prefetcher() -> Prefetcher:
    """Return the prefetcher of this process; it is closed at exit."""
    prefetcher = Prefetcher()
    atexit.register(prefetcher.close)
    return prefetcher


def warm_up_voices() -> "Future[None]":
    """Start the worker process and its engines, so that the first item does not wait for them."""
    return shared_prefetcher().submit(None)


def prefetch_item(item: Item) -> "Future[None]":
    """Queue an item with the shared prefetcher. Returns and raises as Prefetcher.submit."""
    return shared_prefetcher().submit(item)


def prefetch_speech(request: SpeechRequest) -> "Future[None]":
    """Queue an over with the shared prefetcher. Returns and raises as Prefetcher.submit."""
    return shared_prefetcher().submit(request)


def stop_prefetching() -> None:
    """End the worker at once; the cache holds only complete clips, so nothing is damaged."""
    _shutting_down.set()
    shared_prefetcher().close()


def wait_for_prefetch(future: "Future[None]", *, patient: bool) -> None:
    """Wait for a prefetched item; the caller then renders it, ideally from the cache.

    patient: wait as long as it takes. Otherwise a queued item is cancelled, and one that is being
    synthesised is waited for MAX_WAIT_S. An error of the prefetch is ignored here: rendering raises
    the same one.
    Raises: ShuttingDown if the program is exiting, so that the caller starts no synthesis.
    """
    if patient:
        wait([future])
    elif not future.cancel():  # False: the worker has begun
        wait([future], MAX_WAIT_S)
    if _shutting_down.is_set():
        raise ShuttingDown("faintcall is exiting")
