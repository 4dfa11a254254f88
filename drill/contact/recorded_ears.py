"""Ears that return the results of the first run, as far as they are recorded."""

from collections import deque
from collections.abc import Callable, Iterable

from drill.contact.air import Reception
from drill.contact.hearing import Ears, HeardOver


class RecordedEars:
    """Ears with a memory, so that a contact can be replayed exactly.

    ears: used after the end of the recorded results. recorded: earlier results, in order. record:
    called with each new result.
    """

    def __init__(
        self,
        ears: Ears,
        recorded: Iterable[tuple[HeardOver, ...]],
        record: Callable[[tuple[HeardOver, ...]], None],
    ) -> None:
        """Store the recorded results."""
        self.name = ears.name
        self.doubt_below = ears.doubt_below
        self._ears = ears
        self._recorded = deque(recorded)
        self._record = record

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed. See Ears."""
        return self._ears.notices(level_db, draw)

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return the next result, from the record if possible. See Ears."""
        if self._recorded:
            return self._recorded.popleft()
        heard = self._ears.listen(reception)
        self._record(heard)
        return heard
