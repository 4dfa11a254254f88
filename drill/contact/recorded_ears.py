"""Ears that return what they heard the first time, as far as the record has it."""

from collections import deque
from collections.abc import Callable, Iterable

from drill.contact.air import Reception
from drill.contact.hearing import Ears, HeardOver


class RecordedEars:
    """Ears with a memory, so that a contact can be played again exactly.

    ears: listen once the record has no more. recorded: what they heard before, in order. record:
    is called with everything new.
    """

    def __init__(
        self,
        ears: Ears,
        recorded: Iterable[tuple[HeardOver, ...]],
        record: Callable[[tuple[HeardOver, ...]], None],
    ) -> None:
        """Keep the record."""
        self.name = ears.name
        self.doubt_below = ears.doubt_below
        self._ears = ears
        self._recorded = deque(recorded)
        self._record = record

    def notices(self, level_db: float, draw: float) -> bool:
        """Return whether a voice is noticed. See Ears."""
        return self._ears.notices(level_db, draw)

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        """Return what is heard, from the record if it is there. See Ears."""
        if self._recorded:
            return self._recorded.popleft()
        heard = self._ears.listen(reception)
        self._record(heard)
        return heard
