"""The server's memory of a session; all of it can be recreated from the record."""

import threading
from collections import OrderedDict
from concurrent.futures import Future

from drill.core.models import Attempt, Item
from drill.records.sessions import SessionRecord
from drill.records.store import Store
from drill.session.kinds.base import SessionKind
from drill.session.recorded import recorded_kind


class SessionMemory:
    """Set-up, attempts, current item, prefetching and sounds of one session.

    items: the item composed last, by number. prefetched: prefetching in progress, by item number.
    sounds: WAV files by item number and variant; `lock` prevents rendering one twice.
    """

    def __init__(self) -> None:
        """Start empty."""
        self.lock = threading.Lock()
        self.items: dict[int, Item] = {}
        self.prefetched: dict[int, Future[None]] = {}
        self.sounds: OrderedDict[tuple[int, str], bytes] = OrderedDict()
        self._attempts: tuple[Attempt, ...] = ()
        self._kind: tuple[object, SessionKind] | None = None

    def kind(self, record: SessionRecord) -> SessionKind:
        """Return the session's set-up. Raises: UserError as recorded_kind."""
        setup = (record.mode, record.plan, record.course)
        if self._kind is None or self._kind[0] != setup:
            self._kind = setup, recorded_kind(record)
        return self._kind[1]

    def attempts(self, store: Store, identity: str) -> tuple[Attempt, ...]:
        """Return the session's attempts from the record.

        Parsing every attempt would take most of the time of a request. Attempts are only ever added
        to the record, so only those after the last known one are parsed. If the time of that
        attempt differs, the file was replaced, for example by a restored copy, and everything is
        read again.
        """
        known = self._attempts
        if known and store.answer_time(identity, len(known) - 1) != known[-1].answered_at:
            known = ()
            self.items.clear()
        self._attempts = (*known, *store.attempts(identity, first=len(known)))
        return self._attempts
