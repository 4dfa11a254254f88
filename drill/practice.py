"""A sitting: which item comes next, its sound ready in time, the answer scored and kept.

It knows no screen; the terminal and the page ask it and show what it says.
"""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime

from drill import __version__
from drill.items import Answer, Attempt, Clip, Item
from drill.plan import Plan, compose
from drill.records.store import Store
from drill.render import render
from drill.scoring import characters, points, score


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

    The next item's sound is made in the background while the present one is answered.
    """

    def __init__(self, plan: Plan, store: Store, *, identity: str, done: int = 0) -> None:
        """Start at item `done`, counted from 0, of a sitting that the store has begun."""
        self.plan = plan
        self.identity = identity
        self._store = store
        self._number = done
        self.tally = Tally()
        for attempt in store.attempts(identity):
            self.tally = self.tally.with_attempt(attempt)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="next-item")
        self._prepared: dict[int, Future[tuple[Item, Clip]]] = {}
        self._prepare(done)

    @classmethod
    def begin(cls, plan: Plan, store: Store, *, now: datetime) -> "Practice":
        """Return a new sitting, recorded as begun."""
        identity = store.begin(plan, now=now, version=__version__)
        return cls(plan, store, identity=identity)

    @property
    def number(self) -> int:
        """Return the number of the present item, counted from 0."""
        return self._number

    @property
    def finished(self) -> bool:
        """Return True where every item of the plan is answered."""
        return self._number >= self.plan.count

    def _prepare(self, number: int) -> None:
        if number < self.plan.count and number not in self._prepared:
            self._prepared[number] = self._worker.submit(self._make, number)

    def _make(self, number: int) -> tuple[Item, Clip]:
        item = compose(self.plan, number)
        return item, render(item)

    def present(self) -> tuple[Item, Clip]:
        """Return the present item and its sound, waiting for it where need be.

        Raises: NoVoice where its engine is not on this machine.
        """
        self._prepare(self._number)
        made = self._prepared[self._number].result()
        self._prepare(self._number + 1)
        return made

    def answer(self, answer: Answer, *, now: datetime) -> Attempt:
        """Score the answer to the present item, keep it and go on to the next."""
        item, _ = self.present()
        attempt = Attempt(
            at=now.isoformat(),
            item=item,
            answer=answer,
            scores=score(item.message.fields, answer.text),
            version=__version__,
        )
        self._store.add(self.identity, self._number, attempt)
        self.tally = self.tally.with_attempt(attempt)
        del self._prepared[self._number]
        self._number += 1
        return attempt

    def close(self) -> None:
        """Stop preparing."""
        self._worker.shutdown(wait=False, cancel_futures=True)
