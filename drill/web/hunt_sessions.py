"""The open hunts of this server. The record is authoritative; the memory saves replaying it."""

import threading
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager

from drill.core.validation import shown
from drill.hunt.sessions import HuntSession
from drill.hunt.worker_speech import shared_worker_speech
from drill.records.hunts import HUNT_MODE
from drill.records.store import Store
from drill.web.database import NotFoundError, open_record

MAX_HUNTS_IN_MEMORY = 3


class _HuntMemory:
    """One hunt in memory; a thread that uses it holds the lock."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.session: HuntSession | None = None


class HuntMemories:
    """The most recently used hunts."""

    def __init__(self) -> None:
        """Begin without any."""
        self._lock = threading.Lock()
        self._memories: OrderedDict[str, _HuntMemory] = OrderedDict()

    @contextmanager
    def opened(self, identity: str) -> Iterator[HuntSession]:
        """Open a hunt for the present thread, from memory if the record has nothing new.

        It waits until no other thread uses the hunt. Raises: NotFoundError, UserError, NoVoice.
        """
        memory = self._of(identity)
        with memory.lock, open_record() as store:
            _check_is_hunt(store, identity)
            if memory.session is None or not memory.session.follow(store):
                speech = shared_worker_speech()
                memory.session = HuntSession.load(store, identity, speech=speech)
            try:
                yield memory.session
            except BaseException:
                memory.session = None  # the simulation may have stopped in the middle of a step
                raise

    def _of(self, identity: str) -> _HuntMemory:
        with self._lock:
            memory = self._memories.setdefault(identity, _HuntMemory())
            self._memories.move_to_end(identity)
            while len(self._memories) > MAX_HUNTS_IN_MEMORY:
                self._memories.popitem(last=False)
            return memory


def _check_is_hunt(store: Store, identity: str) -> None:
    record = store.session(identity)
    if record is None or record.mode != HUNT_MODE:
        raise NotFoundError(f"there is no hunt {shown(identity)}", field="session")
