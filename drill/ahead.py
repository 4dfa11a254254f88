"""Has what comes next spoken ahead, in a process of its own that gives way to everything else.

The speech lands in the cache on the disk, where the sitting finds it. So the sound that plays is
never disturbed by the synthesis of the next, and what is asked for in time is there in time. Where
no process can be started, nothing is spoken ahead, and the sitting does it itself.
"""

import multiprocessing
import os
import signal
import threading
from concurrent.futures import Future, ProcessPoolExecutor, wait
from contextlib import suppress
from functools import lru_cache

from drill import voices
from drill.errors import FaintcallError, MachineLack
from drill.items import Item
from drill.render import prepare
from drill.voices.roster import ROSTER
from phonetics.message import Word

HOME = "FAINTCALL_HOME"
NICE = 10
_stopped = threading.Event()
WARM = Word(say="alfa", means="A")


class Stopping(MachineLack):
    """The program ends: what is asked for now is not made any more."""


@lru_cache(maxsize=1)
def _pool() -> ProcessPoolExecutor:
    """Return the one worker of this process, started at its first job."""
    # spawn: forking a process that runs the sound's and the voices' threads is not safe
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(1, mp_context=context, initializer=_give_way)


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


def _prepare(item: Item, home: str | None) -> None:
    if home is not None:
        os.environ[HOME] = home
    prepare(item)


def _warm() -> None:
    for one in {one.engine: one for one in ROSTER}.values():
        with suppress(FaintcallError):
            voices.find(one.engine).say((WARM,), one, 0)


def warm() -> "Future[None]":
    """Start the worker and its voices, so that the first item does not wait for that."""
    return _pool().submit(_warm)


def stop() -> None:
    """End the worker at once, whatever it is at: the cache holds whole overs or none."""
    _stopped.set()
    if _pool.cache_info().currsize:
        _pool().shutdown(wait=False, cancel_futures=True)
        for process in multiprocessing.active_children():
            process.terminate()
        _pool().shutdown(wait=True)


def spoken(*waited: "Future[None]") -> None:
    """Return when these have been spoken into the cache, or when that went wrong.

    Raises: Stopping where the program ends, so that nobody begins to speak himself.
    """
    wait(waited)
    if _stopped.is_set():
        raise Stopping("the program is being stopped")


def speak(item: Item) -> "Future[None]":
    """Have an item spoken into the cache; the future tells when, or why not."""
    return _pool().submit(_prepare, item, os.environ.get(HOME))
