"""A sitting: which item comes next, its sound ready in time, the answer scored and kept.

It knows no screen; the terminal and the page ask it and show what it says.
"""

from collections.abc import Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from queue import Full

from drill import __version__
from drill.core.models import Answer, Attempt, Clip, Item
from drill.items import prefetch
from drill.items.render import render
from drill.records.store import Store
from drill.scoring.answers import characters, points, score
from drill.session.courses import Course


@dataclass(frozen=True, kw_only=True, slots=True)
class Tally:
    """Sums over the answers of a sitting; points is the sum, 100 an item at best."""

    answered: int = 0
    right: int = 0
    characters_right: int = 0
    characters_sent: int = 0
    points: float = 0.0

    def with_attempt(self, attempt: Attempt) -> "Tally":
        """Return the tally after one more answer."""
        right, sent = characters(attempt.scores)
        return Tally(
            answered=self.answered + 1,
            right=self.right + attempt.right,
            characters_right=self.characters_right + right,
            characters_sent=self.characters_sent + sent,
            points=self.points + points(attempt.scores, attempt.answer),
        )


class Practice:
    """A running sitting. Each answer is on the disk before `answer` returns.

    What the next items say is spoken by another process while the present one is answered; at most
    ahead.DEPTH items wait for that.
    """

    def __init__(
        self,
        course: Course,
        store: Store,
        *,
        identity: str,
        attempts: Sequence[Attempt] = (),
        spoken: dict[int, Future[None]] | None = None,
        patient: bool = False,
    ) -> None:
        """Go on after these attempts with a sitting that the store has begun.

        spoken: what is being spoken ahead, by number, where that outlives this object. patient:
        waits for the other process however long it takes, for this one has other things to do.
        """
        self.course = course
        self.identity = identity
        self._store = store
        self.attempts = list(attempts)
        self.tally = Tally()
        for attempt in attempts:
            self.tally = self.tally.with_attempt(attempt)
        self._spoken: dict[int, Future[None]] = {} if spoken is None else spoken
        self._patient = patient
        self._present: tuple[int, Item, Clip] | None = None

    @classmethod
    def begin(cls, course: Course, store: Store, *, now: datetime) -> "Practice":
        """Return a new sitting, recorded as begun."""
        identity = store.begin(
            course.plan, now=now, version=__version__, mode=course.mode, course=course.to_dict()
        )
        return cls(course, store, identity=identity)

    @property
    def number(self) -> int:
        """Return the number of the present item, counted from 0."""
        return len(self.attempts)

    @property
    def finished(self) -> bool:
        """Return True where nothing is left to do."""
        return self.course.finished(self.attempts)

    def prepare(self, number: int) -> None:
        """Have an item spoken ahead."""
        if number < self.course.count and number not in self._spoken:
            # Where that cannot be, the item is spoken when its turn comes.
            with suppress(OSError, RuntimeError, Full):
                self._spoken[number] = prefetch.speak(self.course.said(number))

    def item(self) -> Item:
        """Return the present item, without its sound."""
        if self._present is not None and self._present[0] == self.number:
            return self._present[1]
        return self.course.item(self.number, self.attempts)

    def present(self) -> tuple[Item, Clip]:
        """Return the present item and its sound, waiting for it where need be.

        Raises: NoVoice where its engine is not on this machine; Stopping where the program ends.
        """
        number = self.number
        if self._present is None or self._present[0] != number:
            for later in range(number + 1, number + 1 + prefetch.DEPTH):
                self.prepare(later)  # first: the other process works while this one does
            spoken = self._spoken.pop(number, None)
            if spoken is not None:  # whatever went wrong there is told by the attempt here
                prefetch.spoken(spoken, patient=self._patient)
            item = self.item()
            self._present = (number, item, render(item))
        return self._present[1:]

    def answer(self, answer: Answer, *, now: datetime) -> Attempt:
        """Score the answer to the present item, keep it and go on to the next.

        Raises: Answered where another window has answered it meanwhile.
        """
        item = self.item()
        attempt = Attempt(
            at=now.isoformat(),
            item=item,
            answer=answer,
            scores=score(item.message.fields, answer.text, gave_up=answer.gave_up),
            version=__version__,
        )
        self._store.add(self.identity, self.number, attempt)
        self.tally = self.tally.with_attempt(attempt)
        self.attempts.append(attempt)
        return attempt

    def close(self) -> None:
        """Stop preparing."""
        for spoken in self._spoken.values():
            spoken.cancel()
