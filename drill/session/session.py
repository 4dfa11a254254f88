"""A running session: presents items with their audio ready in time, scores and stores answers.

It knows no screen: terminal and page ask it for items and show what it returns.
"""

from collections.abc import Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from queue import Full

from drill import __version__
from drill.core.models import Answer, Attempt, Clip, Item
from drill.core.text_blocks import Passage
from drill.core.unicode_text import printable
from drill.items import prefetch
from drill.items.render import render
from drill.records.store import Store
from drill.scoring.answers import score_answer
from drill.session.kinds.base import SessionKind


class Session:
    """A running session. Every answer is on disk before `answer` returns.

    While the trainee answers an item, another process synthesises the speech of the next
    prefetch.PREFETCH_DEPTH items.
    """

    def __init__(
        self,
        kind: SessionKind,
        store: Store,
        *,
        identity: str,
        attempts: Sequence[Attempt] = (),
        items: dict[int, Item] | None = None,
        prefetched: dict[int, Future[None]] | None = None,
        patient: bool = False,
    ) -> None:
        """Continue the session that the record knows as `identity`, after these attempts.

        items: the current item, by number, if it outlives this object. prefetched: the prefetching
        under way, by item number, likewise.
        patient: wait for prefetching as long as it takes, instead of a limited time; the server of
        the page does so, because its other threads answer requests meanwhile.
        """
        self.kind = kind
        self.identity = identity
        self.attempts = list(attempts)
        self._store = store
        self._items: dict[int, Item] = {} if items is None else items
        self._prefetched: dict[int, Future[None]] = {} if prefetched is None else prefetched
        self._patient = patient
        self._present: tuple[int, Item, Clip] | None = None

    @classmethod
    def begin(cls, kind: SessionKind, store: Store, *, now: datetime) -> "Session":
        """Record that a session begins, and return it."""
        identity = store.begin_session(
            kind.plan, now=now, version=__version__, mode=kind.stored_name, course=kind.to_dict()
        )
        return cls(kind, store, identity=identity)

    @property
    def number(self) -> int:
        """Number of the current item, counted from 0."""
        return len(self.attempts)

    @property
    def finished(self) -> bool:
        """True if no item is left."""
        return self.kind.finished(self.attempts)

    @property
    def standing(self) -> str:
        """Sentence with the result so far and the number of items left."""
        return self.kind.standing(self.attempts)

    @property
    def asks_for_call(self) -> bool:
        """True if a call is to be copied from the current item."""
        return any(field.name == "call" for field in self.item().message.fields)

    def result_blocks(self) -> list[Passage]:
        """Return the result; empty before the end, or if `standing` is the whole result."""
        if not self.finished or not self.attempts:
            return []
        return self.kind.result_blocks(self.attempts, self._store)

    def prefetch(self, number: int) -> None:
        """Start synthesising the speech of an item; do nothing if the session has no such item."""
        if number < self.kind.count and number not in self._prefetched:
            # If prefetching is not possible, the item is synthesised on demand.
            with suppress(OSError, RuntimeError, Full):
                self._prefetched[number] = prefetch.prefetch_item(self.kind.spoken_item(number))

    def item(self) -> Item:
        """Return the current item without its audio."""
        item = self._items.get(self.number)
        if item is None:
            item = self.kind.item(self.number, self.attempts)
            self._items.clear()
            self._items[self.number] = item
        return item

    def present(self) -> tuple[Item, Clip]:
        """Return the current item and its audio; wait until the audio is ready.

        Raises: NoVoice if the item's engine is not installed; ShuttingDown if the program exits.
        """
        number = self.number
        if self._present is None or self._present[0] != number:
            # The next items come first, so that the other process works while this one renders.
            for later in range(number + 1, number + 1 + prefetch.PREFETCH_DEPTH):
                self.prefetch(later)
            prefetched = self._prefetched.pop(number, None)
            if prefetched is not None:
                # If prefetching failed, rendering below raises the same error.
                prefetch.wait_for_prefetch(prefetched, patient=self._patient)
            item = self.item()
            self._present = (number, item, render(item))
        return self._present[1:]

    def answer(self, answer: Answer, *, now: datetime) -> Attempt:
        """Score and store the answer to the current item, and move on to the next one.

        U+FFFD replaces control characters and invalid Unicode in the typed line.
        Raises: AlreadyAnswered if the record has an answer, for example from another window;
        RecordUnavailable if it cannot be saved; the same answer can then be given again.
        """
        answer = replace(answer, typed=printable(answer.typed.replace("\t", " ")))
        item = self.item()
        attempt = Attempt(
            answered_at=now.isoformat(),
            item=item,
            answer=answer,
            scores=score_answer(item.message.fields, answer.typed, gave_up=answer.gave_up),
            version=__version__,
        )
        self._store.add_attempt(self.identity, self.number, attempt)
        self.attempts.append(attempt)
        return attempt

    def close(self) -> None:
        """Cancel the prefetching that has not begun."""
        for prefetched in self._prefetched.values():
            prefetched.cancel()
