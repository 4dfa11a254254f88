"""Contacts in memory, so that a request need not replay the record; the record has precedence."""

import queue
import threading
from collections import OrderedDict
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager, suppress

from drill.contact.foresight import foreseen_speech
from drill.contact.sessions import ContactSession, recorded_setup
from drill.core.validation import shown
from drill.items import prefetch
from drill.items.prefetch_worker import SpeechRequest
from drill.records.contacts import CONTACT_MODE
from drill.records.store import Store
from drill.web.database import NotFoundError, open_record

MAX_CONTACTS_IN_MEMORY = 6
"""Number of contacts kept in memory."""


class ContactMemory:
    """One contact, the window in which its clock runs ("" before the first), and prefetching."""

    def __init__(self) -> None:
        """Start empty."""
        self.lock = threading.Lock()
        self.session: ContactSession | None = None
        self.window = ""
        self._foreseen: dict[SpeechRequest, Future[None]] = {}

    def foresee(self) -> None:
        """Have the overs that may come next synthesised, and cancel all others."""
        wanted = () if self.session is None else foreseen_speech(self.session.contact)
        for request in [request for request in self._foreseen if request not in wanted]:
            self._foreseen.pop(request).cancel()
        with suppress(OSError, queue.Full):  # the request that needs the over then synthesises it
            for request in wanted:
                if request not in self._foreseen:
                    self._foreseen[request] = prefetch.prefetch_speech(request)


class ContactMemories:
    """The most recently used contacts."""

    def __init__(self) -> None:
        """Start with none."""
        self._memories: OrderedDict[tuple[str, int | None], ContactMemory] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, identity: str, number: int | None = None) -> ContactMemory:
        """Return the memory of a session's current contact, or of the contact with this number."""
        with self._lock:
            memory = self._memories.setdefault((identity, number), ContactMemory())
            self._memories.move_to_end((identity, number))
            while len(self._memories) > MAX_CONTACTS_IN_MEMORY:
                self._memories.popitem(last=False)
            return memory

    @contextmanager
    def opened(
        self, identity: str, number: int | None = None
    ) -> Iterator[tuple[ContactMemory, ContactSession]]:
        """Open a session, from memory if the record has nothing new.

        number: of a contact; None for the current one. Raises: NotFoundError, UserError.
        """
        with open_record() as store:
            _check_is_known(store, identity, number)
            memory = self._present(identity, number) or self.of(identity, number)
            with memory.lock:
                session = memory.session
                if session is None or not session.follow(store):
                    setup = recorded_setup(store, identity)
                    session = ContactSession(setup, store, identity=identity, number=number)
                    memory.session = session
                yield memory, session

    def _present(self, identity: str, number: int | None) -> ContactMemory | None:
        """Return the memory of the current contact if it has this number, None otherwise.

        It may have more sound than the record: what was said by microphone is only in memory.
        """
        with self._lock:
            memory = self._memories.get((identity, None))
        session = None if memory is None else memory.session
        return memory if session is not None and session.number == number else None


def _check_is_known(store: Store, identity: str, number: int | None) -> None:
    """Raise NotFoundError unless the record has this session of contacts, with this station."""
    record = store.session(identity)
    if record is None or record.mode != CONTACT_MODE:
        raise NotFoundError(f"there is no session of contacts {shown(identity)}")
    if number is not None and not 0 <= number < recorded_setup(store, identity).count:
        raise NotFoundError(f"this session has no station {number + 1}")
