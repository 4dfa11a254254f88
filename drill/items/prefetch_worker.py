"""The worker process of drill.items.prefetch: synthesises items into the cache at low priority."""

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection

from drill import voices
from drill.core.errors import FaintcallError, NoVoice
from drill.core.models import Item, Operator
from drill.core.paths import HOME_VARIABLE
from drill.items.render import synthesise_item
from drill.voices.people.roster import ROSTER
from phonetics.message import Word

NICENESS = 10
"""Low priority: synthesis ahead of time must not disturb the sound that plays."""
WARM_UP_WORD = Word(say="alfa", means="A")


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeechRequest:
    """Speech of one over. words, operator, seed: as in drill.voices.speak."""

    words: tuple[Word, ...]
    operator: Operator
    seed: int


Job = tuple[Item | SpeechRequest | None, str | None]
"""What to synthesise, None to start the engines only; and the value of FAINTCALL_HOME, which
may have changed since the worker was started."""


@contextmanager
def sigint_blocked() -> Iterator[None]:
    """Block SIGINT while a child process starts, so that Ctrl-C reaches only the parent.

    The child inherits the signal mask and keeps SIGINT blocked.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    previous = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, previous)


def exit_with_parent() -> None:
    """Make this worker process exit when its parent does, even if the parent is killed."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def wait_for_parent() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait_for_parent, daemon=True).start()


def run_worker(pipe: Connection, niceness: int = NICENESS) -> None:
    """Process jobs until the pipe closes; send for each None, or the NoVoice that ended it.

    niceness: added to that of the process, on systems that have one.
    """
    exit_with_parent()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # for Windows, where SIGINT cannot be blocked
    if hasattr(os, "nice"):
        os.nice(niceness)
    while True:
        try:
            wanted, home = pipe.recv()
        except (EOFError, OSError):
            return
        if home is None:
            os.environ.pop(HOME_VARIABLE, None)
        else:
            os.environ[HOME_VARIABLE] = home
        try:
            if wanted is None:
                _start_engines()
            elif isinstance(wanted, SpeechRequest):
                voices.speak(wanted.words, wanted.operator, wanted.seed)
            else:
                synthesise_item(wanted)
            pipe.send(None)
        except Exception as error:
            # The error goes to the caller of the prefetch; the next item may succeed.
            pipe.send(NoVoice(str(error)))


def _start_engines() -> None:
    for operator in {operator.engine: operator for operator in ROSTER}.values():
        with suppress(FaintcallError):
            voices.find_engine(operator.engine).synthesise((WARM_UP_WORD,), operator, 0)
